package cut

import "slices"

// join looks for combinations, one of each lot, whose marks add up to goal, by
// meeting in the middle (four lists: Schroeppel and Shamir 1981). Of the pairs
// of the first two lots it holds in mind those alone whose low bits have some
// value, and looks for partners with the rest of the goal (Howgrave-Graham and
// Joux 2010); then the same with another value. What it finds goes to take;
// once that is content it looks for what loses no more.
func (t *matcher) join(goal uint64, take func(at [lotCount]int32) bool) {
	bits := 0
	for len(t.lots[0].drawn)*len(t.lots[1].drawn)>>bits > t.effort.pairs {
		bits++
	}
	second, fourth := newBuckets(t.lots[1].drawn, bits), newBuckets(t.lots[3].drawn, bits)
	value, step := t.rng.Uint64(), t.rng.Uint64()|1
	limit := int32(lossUnits)
	for n := min(t.effort.slices, 1<<bits); n > 0 && !t.stop(); n-- {
		value += step
		t.table.reset(t.effort.pairs)
		seen := 0
		goOn := func() bool { // looks at the stop once in some milliseconds
			seen++
			return seen%stopEvery != 0 || !t.stop()
		}
		second.eachPair(t.lots[0].drawn, value, limit, func(p pair) bool { return goOn() && t.table.add(p) })
		fourth.eachPair(t.lots[2].drawn, goal-value, limit, func(p pair) bool {
			if q := t.table.find(goal - p.mark); q != nil && q.loss+p.loss <= limit && take([lotCount]int32{q.a, q.b, p.a, p.b}) {
				limit = q.loss + p.loss
			}
			return goOn()
		})
	}
}

// stopEvery is after how many pairs a slice looks whether it is to stop.
const stopEvery = 1 << 15

// pair is a combination of each of two lots, by index, what both make and
// lose.
type pair struct {
	mark uint64
	a, b int32
	loss int32
}

// buckets holds combinations by the low bits of their marks, those that lose
// least first.
type buckets struct {
	list  []combination
	first []int32
	at    []int32
	mask  uint64
}

// newBuckets sorts combinations, which are in order of loss, into buckets.
func newBuckets(list []combination, bits int) *buckets {
	b := &buckets{list: list, mask: 1<<bits - 1, at: make([]int32, len(list)), first: make([]int32, 1<<bits+1)}
	for i := range list {
		b.first[list[i].mark&b.mask+1]++
	}
	for i := range b.mask + 1 {
		b.first[i+1] += b.first[i]
	}
	next := slices.Clone(b.first)
	for i := range list {
		at := &next[list[i].mark&b.mask]
		b.at[*at] = int32(i)
		*at++
	}
	return b
}

// eachPair calls f for the pairs of list and buckets that have the low bits of
// value and lose no more than limit, until f returns false.
func (b *buckets) eachPair(list []combination, value uint64, limit int32, f func(pair) bool) {
	for i := range list {
		c := &list[i]
		if c.loss > limit {
			return
		}
		key := (value - c.mark) & b.mask
		for _, j := range b.at[b.first[key]:b.first[key+1]] {
			o := &b.list[j]
			if c.loss+o.loss > limit {
				break
			}
			if !f(pair{c.mark + o.mark, int32(i), j, c.loss + o.loss}) {
				return
			}
		}
	}
}

// pairTable finds pairs by what they make; of those that make the same it
// holds the one that loses least.
type pairTable struct {
	slots []int32 // 1 + index of a pair, 0 for none
	pairs []pair
	mask  uint64
}

// reset empties the table and makes room for about n pairs.
func (t *pairTable) reset(n int) {
	if cap(t.pairs) < n {
		size := 1024
		for size < 2*n {
			size *= 2
		}
		t.slots, t.mask = make([]int32, size), uint64(size-1)
		t.pairs = make([]pair, 0, n+n/4)
	}
	clear(t.slots)
	t.pairs = t.pairs[:0]
}

// add puts a pair in; it returns false when the table is full.
func (t *pairTable) add(p pair) bool {
	at := t.place(p.mark)
	if i := t.slots[at]; i > 0 {
		if q := &t.pairs[i-1]; p.loss < q.loss {
			*q = p
		}
		return true
	}
	t.pairs = append(t.pairs, p)
	t.slots[at] = int32(len(t.pairs))
	return 2*len(t.pairs) < len(t.slots)
}

// find returns the pair that makes mark, nil for none.
func (t *pairTable) find(mark uint64) *pair {
	if i := t.slots[t.place(mark)]; i > 0 {
		return &t.pairs[i-1]
	}
	return nil
}

// place returns the slot where mark is or would be. The low bits are alike in
// a slice, so it goes by higher ones.
func (t *pairTable) place(mark uint64) uint64 {
	at := mark >> 24 & t.mask
	for t.slots[at] != 0 && t.pairs[t.slots[at]-1].mark != mark {
		at = (at + 1) & t.mask
	}
	return at
}
