package quantity

// An Interval is what is believed about one number: the median and the ends of
// the central 90 %.
//
//	Interval[Concentration]{Q05: 18e-3, Q50: 22e-3, Q95: 27e-3} // 22 mg/L, 90 % between 18 and 27
type Interval[T ~float64] struct {
	Q05 T `json:"q05"`
	Q50 T `json:"q50"`
	Q95 T `json:"q95"`
}

// Width is the distance between the ends.
func (i Interval[T]) Width() T { return i.Q95 - i.Q05 }

// Holds reports whether the value lies inside; the ends belong to it.
func (i Interval[T]) Holds(v T) bool { return v >= i.Q05 && v <= i.Q95 }
