package cut

import (
	"math"
	"math/rand/v2"
	"slices"
)

// tree searches a master whose every kind stands for one board, count 1, for
// a choice of one column each that is worth at least target. Its columns are
// all there are: branching takes some away.
type tree struct {
	m *master
	// target is the least worth still of interest; it rises by step with
	// every choice found.
	target, step float64
	// best is the best choice found; nil for none.
	best  []choice
	worth float64
	// stock lets kinds have any count: a pattern is settled on by setting
	// boards aside for it. Such a search dives but proves nothing.
	stock bool
	// limit bounds the nodes; backs bounds how often the search may turn
	// back, which makes it a dive.
	limit, backs int
	// counts makes the search split a board's columns by how many of an item
	// they make, which proves faster; otherwise it settles boards one by one,
	// which finds faster, with noise from rng.
	counts bool
	rng    *rand.Rand
	big    float64
	// top is the bound that the root gave.
	top   float64
	nodes int
	// left and settled are what trim works out: what of each item the boards
	// with one column left do not make, and which boards those are.
	left    []float64
	settled []bool
}

// choice is a column and how many boards are cut by it.
type choice struct {
	col   int32
	times int
}

// newTree prepares a search; seed varies its dives.
func newTree(m *master, target, step float64, seed uint64) *tree {
	t := &tree{m: m, target: target, step: step, limit: math.MaxInt, backs: math.MaxInt, rng: rand.New(rand.NewPCG(seed, 77))}
	most := 1.0
	for i := range m.cols {
		most = max(most, math.Abs(m.cols[i].worth))
	}
	t.big = 100 * most
	t.worth = math.Inf(-1)
	return t
}

// run searches and reports whether nothing was left out: with best nil, no
// choice is worth target.
func (t *tree) run() bool { return t.node(0) }

// node searches below the columns now allowed.
func (t *tree) node(depth int) bool {
	if t.nodes++; t.nodes > t.limit || t.m.stop() {
		return false
	}
	t.m.solve(1e-7 * (1 + t.big/1e4))
	if t.m.stop() {
		return false
	}
	value := t.m.objective()
	if depth == 0 {
		t.top = value
	}
	eps := 1e-6 * (1 + math.Abs(t.target)*1e-3)
	if value < t.target-eps {
		return true
	}
	undo, bad := t.trim(value)
	if depth == 0 {
		t.compact()
	}
	var done []int32
	for len(bad) > 0 {
		done = append(done, t.ban(bad)...)
		t.m.solve(1e-7 * (1 + t.big/1e4))
		if t.m.stop() {
			break
		}
		if value = t.m.objective(); value < t.target-eps {
			t.unban(done)
			t.restore(undo)
			return true
		}
		var more []int32
		more, bad = t.trim(value)
		undo = append(undo, more...)
	}
	complete := !t.m.stop() && t.branch(depth, value)
	t.unban(done)
	t.restore(undo)
	return complete
}

// trim bans columns that cannot be part of a choice worth target and returns
// those it banned and those in the basis that should be. A column is judged
// without the copies that boards already settled leave no want for: a choice
// that holds it throws those away.
func (t *tree) trim(value float64) (banned, bad []int32) {
	m := t.m
	left := t.leftBySettled()
	for k := range m.of {
		mu := m.cols[m.key[k]].reduced(m.dual)
		for _, c := range m.of[k] {
			if m.off[c] {
				continue
			}
			col := &m.cols[c]
			loses := mu - col.reduced(m.dual)
			if !t.settled[k] {
				for i, r := range col.items {
					if over := col.n[i] - left[r]; over > 0.5 {
						loses += over * max(0, m.drop[r]-m.dual[r])
					}
				}
			}
			switch {
			case value-loses >= t.target-1e-5:
			case m.place[c] == outside:
				m.off[c] = true
				banned = append(banned, c)
			case !t.settled[k] && !t.stock:
				bad = append(bad, c)
			}
		}
	}
	return banned, bad
}

// leftBySettled returns how many of each item the boards with one column left
// do not make, and notes which boards those are.
func (t *tree) leftBySettled() []float64 {
	m := t.m
	t.left = append(t.left[:0], m.want...)
	t.settled = append(t.settled[:0], make([]bool, len(m.of))...)
	if t.stock {
		return t.left
	}
	for k := range m.of {
		only := int32(-1)
		for _, c := range m.of[k] {
			if m.off[c] {
				continue
			}
			if only >= 0 {
				only = -1
				break
			}
			only = c
		}
		if only < 0 {
			continue
		}
		t.settled[k] = true
		for i, r := range m.cols[only].items {
			t.left[r] = max(0, t.left[r]-m.cols[only].n[i])
		}
	}
	return t.left
}

// compact forgets the columns that the root has banned.
func (t *tree) compact() {
	for k, list := range t.m.of {
		t.m.of[k] = slices.DeleteFunc(list, func(c int32) bool { return t.m.off[c] })
	}
}

// ban takes columns away; those in the basis are made so bad that they leave.
func (t *tree) ban(cols []int32) []int32 {
	var done []int32
	dear := false
	for _, c := range cols {
		if t.m.off[c] {
			continue
		}
		t.m.off[c] = true
		done = append(done, c)
		if t.m.place[c] != outside {
			dear = true
		}
		t.m.cols[c].worth -= t.big
	}
	if dear {
		t.m.reprice()
	}
	return done
}

// unban undoes ban.
func (t *tree) unban(cols []int32) {
	dear := false
	for _, c := range cols {
		t.m.off[c] = false
		dear = dear || t.m.place[c] != outside
		t.m.cols[c].worth += t.big
	}
	if dear {
		t.m.reprice()
	}
}

// restore undoes trim.
func (t *tree) restore(cols []int32) {
	for _, c := range cols {
		t.m.off[c] = false
	}
}

// share is a column in use and how much of its board it has.
type share struct {
	col int32
	x   float64
}

// shares lists the columns in use of each board that uses more than one
// pattern.
func (t *tree) shares() map[int][]share {
	open := map[int][]share{}
	m := t.m
	for s, c := range m.slot {
		if c >= 0 && m.x[s] > 1e-6 {
			open[m.cols[c].kind] = append(open[m.cols[c].kind], share{c, m.x[s]})
		}
	}
	for k, list := range open {
		if m.xkey[k] > 1e-6 {
			list = append(list, share{m.key[k], m.xkey[k]})
		}
		if len(list) < 2 || t.alike(list) {
			delete(open, k)
			continue
		}
		open[k] = list
	}
	return open
}

// alike reports whether all columns make the same.
func (t *tree) alike(list []share) bool {
	a := &t.m.cols[list[0].col]
	for _, s := range list[1:] {
		b := &t.m.cols[s.col]
		if len(a.items) != len(b.items) || math.Abs(a.worth-b.worth) > 1e-9 {
			return false
		}
		for i := range a.items {
			if a.items[i] != b.items[i] || a.n[i] != b.n[i] {
				return false
			}
		}
	}
	return true
}

// branch records a whole choice, or splits the columns of a board and
// searches both parts.
func (t *tree) branch(depth int, value float64) bool {
	if t.stock {
		return t.branchStock(depth)
	}
	open := t.shares()
	if len(open) == 0 {
		t.record()
		return true
	}
	var keep, lose []int32
	if t.counts {
		if keep, lose = t.splitByUse(open); keep == nil {
			keep, lose = t.splitByCount(open)
		}
	} else {
		keep, lose = t.settle(open)
	}
	done := t.ban(lose)
	complete := t.node(depth + 1)
	t.unban(done)
	if t.backs--; t.backs < 0 {
		return false
	}
	done = t.ban(keep)
	complete = t.node(depth+1) && complete
	t.unban(done)
	return complete
}

// record keeps the present choice, unless it needs a banned column.
func (t *tree) record() {
	m := t.m
	times := map[int32]float64{}
	for k, c := range m.key {
		if !math.IsInf(m.count[k], 1) {
			times[c] = m.count[k]
		}
	}
	worth := 0.0
	for s, c := range m.slot {
		n := math.Round(m.x[s])
		if c < 0 {
			_, _, w := m.loose(c)
			worth += w * n
		} else if n > 0 {
			times[c] = n
			times[m.key[m.cols[c].kind]] -= n
		}
	}
	var best []choice
	for c := range int32(len(m.cols)) {
		n := int(times[c])
		if n <= 0 {
			continue
		}
		if m.off[c] {
			return
		}
		worth += m.cols[c].worth * float64(n)
		best = append(best, choice{c, n})
	}
	if worth > t.worth {
		t.best, t.worth = best, worth
		t.target = max(t.target, worth+t.step)
	}
}

// settle gives the board that is nearest to one pattern that pattern.
func (t *tree) settle(open map[int][]share) (keep, lose []int32) {
	var pick share
	kind, score := -1, -1.0
	for k := range t.m.of {
		for _, s := range open[k] {
			if v := s.x + 0.3*t.rng.Float64(); v > score {
				kind, pick, score = k, s, v
			}
		}
	}
	for _, c := range t.m.of[kind] {
		if c != pick.col {
			lose = append(lose, c)
		}
	}
	return []int32{pick.col}, lose
}

// splitByUse finds the board that costs something and is nearest to half used
// and parts its columns into those that use it and the empty ones. Whether a
// board is used at all decides more than how.
func (t *tree) splitByUse(open map[int][]share) (keep, lose []int32) {
	kind, score := -1, 0.02
	for k := range t.m.of {
		used, pays := 0.0, false
		for _, s := range open[k] {
			if c := &t.m.cols[s.col]; len(c.items) > 0 {
				used += s.x
				pays = pays || c.costs
			}
		}
		if f := min(used, 1-used); pays && f > score {
			kind, score = k, f
		}
	}
	if kind < 0 {
		return nil, nil
	}
	for _, c := range t.m.of[kind] {
		if len(t.m.cols[c].items) > 0 {
			keep = append(keep, c)
		} else {
			lose = append(lose, c)
		}
	}
	return keep, lose
}

// splitByCount finds the board and item whose mean count is nearest to a half
// between two whole numbers and parts the board's columns there.
func (t *tree) splitByCount(open map[int][]share) (keep, lose []int32) {
	kind, item, cut, score := -1, int32(-1), 0.0, -1.0
	for k := range t.m.of {
		list := open[k]
		mean := map[int32]float64{}
		for _, s := range list {
			c := &t.m.cols[s.col]
			for i, r := range c.items {
				mean[r] += s.x * c.n[i]
			}
		}
		for r := range int32(len(t.m.want)) {
			v, made := mean[r]
			if !made {
				continue
			}
			if f := v - math.Floor(v); min(f, 1-f) > score {
				// Columns must differ in the item, or nothing is parted.
				lo, hi := t.m.spread(list, r)
				if at := math.Floor(v); lo <= at && hi > at {
					kind, item, cut, score = k, r, at, min(f, 1-f)
				} else if lo < hi {
					kind, item, cut, score = k, r, lo, min(f, 1-f)
				}
			}
		}
	}
	for _, c := range t.m.of[kind] {
		if t.m.cols[c].makes(item) > cut {
			keep = append(keep, c)
		} else {
			lose = append(lose, c)
		}
	}
	return keep, lose
}

// makes returns how many of an item the column makes.
func (c *column) makes(item int32) float64 {
	for i, r := range c.items {
		if r == item {
			return c.n[i]
		}
	}
	return 0
}

// spread returns the least and the most of an item that the columns make.
func (m *master) spread(list []share, item int32) (lo, hi float64) {
	lo, hi = math.Inf(1), 0
	for _, s := range list {
		n := m.cols[s.col].makes(item)
		lo, hi = min(lo, n), max(hi, n)
	}
	return lo, hi
}
