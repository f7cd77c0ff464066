package cellar

import (
	"iter"
	"slices"
	"sort"
)

// A List is a sequence in its order. It is never changed: a Book that goes on
// makes a new one, which shares with the old one all but the part that differs.
type List[T any] struct {
	chunks [][]T // none is empty
	tail   []T   // what comes after them
	n      int
}

// Len is how many there are.
func (l List[T]) Len() int { return l.n }

// All goes through the list from its beginning.
func (l List[T]) All() iter.Seq2[int, T] {
	return func(yield func(int, T) bool) {
		i := 0
		for k := range len(l.chunks) + 1 {
			for _, v := range l.chunk(k) {
				if !yield(i, v) {
					return
				}
				i++
			}
		}
	}
}

// Backward goes through the list from its end.
func (l List[T]) Backward() iter.Seq2[int, T] {
	return func(yield func(int, T) bool) {
		i := l.n - 1
		for k := len(l.chunks); k >= 0; k-- {
			for _, v := range slices.Backward(l.chunk(k)) {
				if !yield(i, v) {
					return
				}
				i--
			}
		}
	}
}

// chunk is a stretch of the list; the tail is the last one.
func (l List[T]) chunk(k int) []T {
	if k < len(l.chunks) {
		return l.chunks[k]
	}
	return l.tail
}

// At is the one with number i, from 0; it panics outside the list.
func (l List[T]) At(i int) T {
	for _, c := range l.chunks {
		if i < len(c) {
			return c[i]
		}
		i -= len(c)
	}
	return l.tail[i]
}

// Slice copies the list into a slice.
func (l List[T]) Slice() []T {
	return append(slices.Concat(l.chunks...), l.tail...)
}

// from goes through the list from the first element for which reached is true;
// reached must stay true from there on.
func (l List[T]) from(reached func(T) bool) iter.Seq[T] {
	return func(yield func(T) bool) {
		start := sort.Search(len(l.chunks), func(k int) bool { return reached(l.chunks[k][len(l.chunks[k])-1]) })
		for k := start; k <= len(l.chunks); k++ {
			c := l.chunk(k)
			for _, v := range c[sort.Search(len(c), func(i int) bool { return reached(c[i]) }):] {
				if !yield(v) {
					return
				}
			}
		}
	}
}

// fullChunk is the length at which a chunk is parted: short enough to be copied
// for one change, long enough that few are needed.
const fullChunk = 256

// A rack is a sorted list under way. A list handed out by share stays as it is:
// what it shows is copied before it is changed. Only what comes after its end is
// written in place, where it does not look.
type rack[T any] struct {
	list  List[T]
	order func(a, b T) int // total: equal only if the same
	// owned are the chunks that no list shows yet, by the address of their first
	// element's place; ownTop and ownTail say so of the others.
	owned   map[*T]bool
	ownTop  bool
	ownTail bool
}

func newRack[T any](order func(a, b T) int) *rack[T] {
	return &rack[T]{order: order, owned: map[*T]bool{}}
}

// share hands the list out as it is now.
func (r *rack[T]) share() List[T] {
	if len(r.owned) > 0 {
		clear(r.owned)
	}
	r.ownTop, r.ownTail = false, false
	return r.list
}

// find is the chunk and the place in it where v is, or belongs.
func (r *rack[T]) find(v T) (k, i int, found bool) {
	chunks := r.list.chunks
	if t := r.list.tail; len(t) > 0 { // most come in order
		switch c := r.order(v, t[len(t)-1]); {
		case c > 0:
			return len(chunks), len(t), false
		case c == 0:
			return len(chunks), len(t) - 1, true
		}
		if r.order(v, t[0]) >= 0 {
			k = len(chunks)
		} else {
			k = sort.Search(len(chunks), func(k int) bool { return r.order(chunks[k][len(chunks[k])-1], v) >= 0 })
		}
	} else {
		k = sort.Search(len(chunks), func(k int) bool { return r.order(chunks[k][len(chunks[k])-1], v) >= 0 })
	}
	i, found = slices.BinarySearchFunc(r.list.chunk(k), v, r.order)
	return k, i, found
}

// mine makes a chunk one's own, to be changed anywhere.
func (r *rack[T]) mine(k int) []T {
	if k == len(r.list.chunks) {
		if !r.ownTail {
			r.list.tail, r.ownTail = append(make([]T, 0, fullChunk), r.list.tail...), true
		}
		return r.list.tail
	}
	r.top()
	c := r.list.chunks[k]
	if !r.owned[&c[0]] {
		c = append(make([]T, 0, fullChunk+1), c...)
		r.set(k, c)
	}
	return c
}

func (r *rack[T]) top() {
	if !r.ownTop {
		r.list.chunks, r.ownTop = slices.Clone(r.list.chunks), true
	}
}

// set puts a chunk of one's own in its place.
func (r *rack[T]) set(k int, c []T) {
	if k == len(r.list.chunks) {
		r.list.tail = c
		return
	}
	r.list.chunks[k] = c
	r.owned[&c[0]] = true
}

// insert puts v in its place; it takes the place of its equal.
func (r *rack[T]) insert(v T) {
	k, i, found := r.find(v)
	last := k == len(r.list.chunks)
	switch {
	case found:
		r.mine(k)[i] = v
		return
	case last && i == len(r.list.tail): // after everything
		if i >= fullChunk {
			r.list.chunks = append(r.list.chunks, r.list.tail)
			r.list.tail, r.ownTail = make([]T, 0, fullChunk), true
		}
		r.list.tail = append(r.list.tail, v)
	default:
		c := slices.Insert(r.mine(k), i, v)
		r.set(k, c)
		if len(c) > fullChunk {
			r.part(k)
		}
	}
	r.list.n++
}

// part makes two chunks of one.
func (r *rack[T]) part(k int) {
	c := r.mine(k)
	half := len(c) / 2
	left, right := slices.Clip(c[:half]), append(make([]T, 0, fullChunk+1), c[half:]...)
	r.top()
	if k == len(r.list.chunks) {
		r.list.chunks = append(r.list.chunks, left)
		r.list.tail = right
		r.owned[&left[0]] = true
		return
	}
	r.list.chunks = slices.Insert(r.list.chunks, k+1, right)
	r.set(k, left)
	r.owned[&right[0]] = true
}

// remove takes v out; it says whether it was there.
func (r *rack[T]) remove(v T) bool {
	k, i, found := r.find(v)
	if !found {
		return false
	}
	c := r.mine(k)
	r.list.n--
	if len(c) == 1 && k < len(r.list.chunks) {
		r.list.chunks = slices.Delete(r.list.chunks, k, k+1)
		return true
	}
	r.set(k, slices.Delete(c, i, i+1))
	return true
}
