package quantity

// Bounds are a likely value between a low and a high one that published rules or
// limits allow. They are not a statistical interval: for that see [Interval].
type Bounds[T ~float64] struct {
	Low    T `json:"low"`
	Likely T `json:"likely"`
	High   T `json:"high"`
}

// Holds reports whether the value lies between the bounds; the ends belong to them.
func (b Bounds[T]) Holds(v T) bool { return v >= b.Low && v <= b.High }
