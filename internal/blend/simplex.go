package blend

import (
	"errors"
	"math"
	"slices"
)

// A programme is a linear one: least cost·x with x ≥ 0, rows·x ≤ limit and
// equal·x = value.
type programme struct {
	cost  []float64
	rows  [][]float64
	limit []float64
	equal [][]float64
	value []float64
}

var (
	errInfeasible = errors.New("no x meets all rows")
	errUnbounded  = errors.New("cost has no least value")
)

// tiny is what rounding may leave of nothing, rows being scaled to their largest number.
const tiny = 1e-9

// solve finds the x of least cost by the simplex method on a dense tableau, in two
// phases, with Bland's rule against going round in circles. For a few dozen rows and
// columns; exact but for rounding.
func (p *programme) solve() (x []float64, cost float64, err error) {
	n := len(p.cost)
	t := newTableau(n, len(p.rows), len(p.equal))
	for i, row := range p.rows {
		t.set(i, row, p.limit[i], true)
	}
	for i, row := range p.equal {
		t.set(len(p.rows)+i, row, p.value[i], false)
	}
	t.keep()
	if t.phaseOne(); t.short() {
		return nil, 0, errInfeasible
	}
	t.dropArtificial()
	if !t.phaseTwo(p.cost) {
		return nil, 0, errUnbounded
	}
	x = make([]float64, n)
	for i, v := range t.refined() {
		if j := t.basis[i]; j < n {
			x[j] = max(0, v)
		}
	}
	for j := range x {
		cost += p.cost[j] * x[j]
	}
	return x, cost, nil
}

// tableau holds rows over columns: x, then slacks, then artificials, then the right
// side. z is the row of reduced costs.
type tableau struct {
	n, slacks, width int
	a, written       [][]float64 // as it stands, and as it was written
	z                []float64
	basis            []int
	artificial       int // first artificial column
}

func newTableau(n, le, eq int) *tableau {
	t := &tableau{n: n, slacks: le, artificial: n + le, width: n + le + le + eq, basis: make([]int, le+eq)}
	for range le + eq {
		t.a = append(t.a, make([]float64, t.width+1))
	}
	return t
}

// set writes a row, scaled to its largest number, with a right side of no less than 0.
func (t *tableau) set(i int, row []float64, right float64, slack bool) {
	scale := math.Abs(right)
	for _, v := range row {
		scale = max(scale, math.Abs(v))
	}
	if scale == 0 {
		scale = 1
	}
	if right < 0 {
		scale = -scale
	}
	for j, v := range row {
		t.a[i][j] = v / scale
	}
	t.a[i][t.width] = right / scale
	if slack {
		t.a[i][t.n+i] = 1
		if scale < 0 {
			t.a[i][t.n+i] = -1
		} else { // the slack itself is a beginning
			t.basis[i] = t.n + i
			return
		}
	}
	t.a[i][t.artificial+i] = 1
	t.basis[i] = t.artificial + i
}

func (t *tableau) keep() {
	for _, row := range t.a {
		t.written = append(t.written, slices.Clone(row))
	}
}

// refined are the basic variables, reckoned anew from what was written, so that the
// rounding of many pivots does not add up. It is Gauss's elimination with the
// greatest pivot of each column.
func (t *tableau) refined() []float64 {
	m := len(t.basis)
	a := make([][]float64, m)
	for i := range a {
		a[i] = make([]float64, m+1)
		for k, j := range t.basis {
			a[i][k] = t.written[i][j]
		}
		a[i][m] = t.written[i][t.width]
	}
	for k := range m {
		best := k
		for i := k + 1; i < m; i++ {
			if math.Abs(a[i][k]) > math.Abs(a[best][k]) {
				best = i
			}
		}
		a[k], a[best] = a[best], a[k]
		if a[k][k] == 0 { // cannot be, in a basis; then what the pivots came to stands
			out := make([]float64, m)
			for i := range out {
				out[i] = t.a[i][t.width]
			}
			return out
		}
		for i := k + 1; i < m; i++ {
			f := a[i][k] / a[k][k]
			for j := k; j <= m; j++ {
				a[i][j] -= f * a[k][j]
			}
		}
	}
	out := make([]float64, m)
	for k := m - 1; k >= 0; k-- {
		v := a[k][m]
		for j := k + 1; j < m; j++ {
			v -= a[k][j] * out[j]
		}
		out[k] = v / a[k][k]
	}
	return out
}

// phaseOne makes the artificial columns as small as they can be.
func (t *tableau) phaseOne() {
	t.z = make([]float64, t.width+1)
	for j := t.artificial; j < t.width; j++ {
		t.z[j] = 1
	}
	t.price()
	t.run(t.artificial)
}

func (t *tableau) short() bool {
	for i, j := range t.basis {
		if j >= t.artificial && t.a[i][t.width] > tiny*10 {
			return true
		}
	}
	return false
}

// dropArtificial takes artificial columns that are left at zero out of the basis.
func (t *tableau) dropArtificial() {
	for i, b := range t.basis {
		if b < t.artificial {
			continue
		}
		t.a[i][t.width] = 0
		for j := range t.artificial {
			if math.Abs(t.a[i][j]) > 1e-7 {
				t.pivot(i, j)
				break
			}
		}
	}
}

func (t *tableau) phaseTwo(cost []float64) bool {
	t.z = make([]float64, t.width+1)
	copy(t.z, cost)
	t.price()
	return t.run(t.artificial)
}

// price takes the basic columns out of the costs.
func (t *tableau) price() {
	for i, j := range t.basis {
		if k := t.z[j]; k != 0 {
			for c := range t.z {
				t.z[c] -= k * t.a[i][c]
			}
		}
	}
}

// run pivots until no column makes it cheaper; false if one does so for ever.
func (t *tableau) run(columns int) bool {
	for range 20_000 {
		enter := -1
		for j := range columns {
			if t.z[j] < -tiny {
				enter = j
				break
			}
		}
		if enter < 0 {
			return true
		}
		leave := -1
		for i := range t.a {
			if t.a[i][enter] <= tiny {
				continue
			}
			if leave < 0 {
				leave = i
				continue
			}
			r, best := t.a[i][t.width]/t.a[i][enter], t.a[leave][t.width]/t.a[leave][enter]
			if r < best-1e-12 || r <= best+1e-12 && t.basis[i] < t.basis[leave] {
				leave = i
			}
		}
		if leave < 0 {
			return false
		}
		t.pivot(leave, enter)
	}
	return true
}

func (t *tableau) pivot(row, col int) {
	p := t.a[row][col]
	for j := range t.a[row] {
		t.a[row][j] /= p
	}
	clear := func(r []float64) {
		if k := r[col]; k != 0 {
			for j := range r {
				r[j] -= k * t.a[row][j]
			}
			r[col] = 0
		}
	}
	for i := range t.a {
		if i != row {
			clear(t.a[i])
		}
	}
	clear(t.z)
	t.basis[row] = col
}
