package cut

import (
	"cmp"
	"slices"
	"sync"
)

// freeEngine knows guillotine patterns of any number of stages. Sizes are
// taken with one kerf added to each piece and to the board, so that pieces add
// up exactly. Cuts fall only where sums of pieces, from the board's edge or
// from the far edge of a defect, can end.
type freeEngine struct {
	p       *problem
	gain    []float64   // by item
	tables  []freeTable // by group
	last    [][]bit     // by kind: the pattern priced last
	listing sync.Mutex
	listed  freeListed
}

// freePiece is an item with its gain.
type freePiece struct {
	l, w int // kerf added
	item int32
	gain float64
}

// freeTable holds, for a group, the most that clear rectangles gain.
type freeTable struct {
	us, vs   []int   // sizes that sums of pieces reach, ascending from 0
	uAt, vAt []int32 // by size: index of the greatest sum that fits
	best     [][]float64
	pieces   []freePiece
}

func newFreeEngine(p *problem) *freeEngine {
	return &freeEngine{p: p, last: make([][]bit, len(p.kinds))}
}

// prepare computes the tables of clear rectangles.
func (e *freeEngine) prepare(gain []float64) { e.gain, e.tables = gain, e.tablesOf(gain, false) }

// tablesOf computes, by group, the tables of clear rectangles at some gains, of
// all items or of those that gain something.
func (e *freeEngine) tablesOf(gain []float64, all bool) []freeTable {
	tables := make([]freeTable, len(e.p.groups))
	for gi, g := range e.p.groups {
		t := &tables[gi]
		for _, s := range g.shelves {
			for _, i := range s.items {
				if gain[i] > 0 || all {
					it := e.p.items[i]
					t.pieces = append(t.pieces, freePiece{it.l + e.p.ku, it.w + e.p.kv, int32(i), gain[i]})
				}
			}
		}
		slices.SortStableFunc(t.pieces, func(a, b freePiece) int { return cmp.Compare(b.gain, a.gain) })
		ls, ws := t.sizes()
		t.us, t.uAt = sums(ls, []int{0}, g.maxL+e.p.ku)
		t.vs, t.vAt = sums(ws, []int{0}, g.maxW+e.p.kv)
		t.fill(e.p.stop)
	}
	return tables
}

// sizes lists the pieces' lengths and widths, kerfs added.
func (t *freeTable) sizes() (ls, ws []int) {
	for _, pc := range t.pieces {
		ls, ws = append(ls, pc.l), append(ws, pc.w)
	}
	return ls, ws
}

// sums lists the sizes up to n that sums of steps reach from the given starts,
// and for every size the index of the greatest of them that fits, or -1.
func sums(steps, starts []int, n int) (list []int, at []int32) {
	reached := make([]bool, n+1)
	for _, s := range starts {
		if s <= n {
			reached[s] = true
		}
	}
	at = make([]int32, n+1)
	for x := range reached {
		if reached[x] {
			list = append(list, x)
			for _, s := range steps {
				if x+s <= n {
					reached[x+s] = true
				}
			}
		}
		at[x] = int32(len(list)) - 1
	}
	return list, at
}

// fill computes the most that a clear rectangle of every size of sums gains:
// one piece, or two rectangles side by side or one above the other.
func (t *freeTable) fill(stop func() bool) {
	n, m := len(t.us), len(t.vs)
	t.best = make([][]float64, n)
	byV := make([][]float64, m) // the same, transposed
	for i := range t.best {
		t.best[i] = make([]float64, m)
	}
	for j := range byV {
		byV[j] = make([]float64, n)
	}
	for _, pc := range t.pieces {
		i, j := t.uAt[pc.l], t.vAt[pc.w]
		t.best[i][j] = max(t.best[i][j], pc.gain)
	}
	for i := 1; i < n && !stop(); i++ {
		for j := 1; j < m; j++ {
			b := max(t.best[i][j], t.best[i-1][j], t.best[i][j-1])
			row := byV[j]
			for c := 1; c < i && 2*t.us[c] <= t.us[i]; c++ {
				if v := row[c] + row[t.uAt[t.us[i]-t.us[c]]]; v > b {
					b = v
				}
			}
			row = t.best[i]
			for c := 1; c < j && 2*t.vs[c] <= t.vs[j]; c++ {
				if v := row[c] + row[t.vAt[t.vs[j]-t.vs[c]]]; v > b {
					b = v
				}
			}
			t.best[i][j], byV[j][i] = b, b
		}
	}
}

// most returns the most that a clear rectangle gains.
func (t *freeTable) most(du, dv int) float64 { return t.best[t.uAt[du]][t.vAt[dv]] }
