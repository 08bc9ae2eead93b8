package cut

import (
	"math"
	"slices"
)

const (
	// goalSample is how many pairs of combinations are looked at to see what
	// a joining makes most often, goalFew how few make it look again.
	goalSample = 3000
	goalFew    = 300
)

// joining is two lots to be joined: a sample of their pairs that make the goal
// so far, and about how many such pairs there are, as a logarithm.
type joining struct {
	a, b  []partial
	goal  mark
	pairs []mark
	many  float64
}

// goals picks how many more rows a level settles and what each joining is to
// make of them: row by row what the joinings make most often, so that all
// together make what is wanted, as long as about as many combinations are left
// as a lot may hold. It returns nil where it finds nothing.
func (c *cascade) goals(below []cascadeLot, settled int) (goals []mark, to int) {
	list := make([]joining, len(below)/2)
	for i := range list {
		j := &list[i]
		j.a, j.b = below[2*i].list, below[2*i+1].list
		if len(j.a) == 0 || len(j.b) == 0 {
			return nil, 0
		}
		j.many = math.Log(float64(len(j.a))) + math.Log(float64(len(j.b)))
		for range goalSample {
			a, b := &j.a[c.rng.IntN(len(j.a))], &j.b[c.rng.IntN(len(j.b))]
			j.pairs = append(j.pairs, a.mark.plus(&b.mark))
		}
	}
	least := math.Log(float64(c.size)) + 0.7
	for to = settled; to < len(c.d.tight)-1 && !c.stop(); to++ {
		counts, many := c.nextGoal(list, to, least)
		if counts == nil || many < least && to > settled {
			break
		}
		if !c.settleRow(list, counts, settled, to) {
			return nil, 0
		}
	}
	if to == settled || c.stop() {
		return nil, 0
	}
	for i := range list {
		goals = append(goals, list[i].goal)
	}
	return goals, to
}

// nextGoal returns how many copies of the row at a place each joining is to
// make, and how many pairs that leaves on average, as a logarithm; nil where
// no counts add up to what is wanted.
func (c *cascade) nextGoal(list []joining, at int, least float64) ([]int, float64) {
	want := c.d.count(&c.wanted, at)
	hist := make([]map[int]int, len(list))
	for i := range list {
		hist[i] = map[int]int{}
		for p := range list[i].pairs {
			hist[i][c.d.count(&list[i].pairs[p], at)]++
		}
	}
	counts := likeliest(hist, want)
	if counts == nil {
		return nil, 0
	}
	many := 0.0
	for i, n := range counts {
		left := list[i].many + math.Log(float64(hist[i][n])/float64(len(list[i].pairs)))
		many += min(left, least+1) / float64(len(list))
	}
	return counts, many
}

// likeliest picks a count for each histogram so that they add up to want and
// the product of how often they were seen is greatest; nil where none do.
func likeliest(hist []map[int]int, want int) []int {
	best := make([]float64, want+1)
	for s := range best {
		best[s] = math.Inf(-1)
	}
	best[0] = 0
	was := make([][]int32, len(hist))
	for i, h := range hist {
		next := make([]float64, want+1)
		was[i] = make([]int32, want+1)
		for s := range next {
			next[s] = math.Inf(-1)
		}
		values := make([]int, 0, len(h))
		for v := range h {
			values = append(values, v)
		}
		slices.Sort(values)
		for _, v := range values {
			score := math.Log(float64(h[v]))
			for s := 0; s+v <= want; s++ {
				if f := best[s] + score; f > next[s+v] {
					next[s+v], was[i][s+v] = f, int32(v)
				}
			}
		}
		best = next
	}
	if math.IsInf(best[want], -1) {
		return nil
	}
	counts := make([]int, len(hist))
	for i := len(hist) - 1; i >= 0; i-- {
		counts[i] = int(was[i][want])
		want -= counts[i]
	}
	return counts
}

// settleRow adds a row's counts to the goals and keeps the pairs that make them,
// looking for more where few are left. It reports false where a joining has
// none.
func (c *cascade) settleRow(list []joining, counts []int, settled, at int) bool {
	for i := range list {
		j := &list[i]
		n := len(j.pairs)
		j.pairs = slices.DeleteFunc(j.pairs, func(m mark) bool { return c.d.count(&m, at) != counts[i] })
		j.many += math.Log(float64(len(j.pairs)) / float64(n))
		c.d.put(&j.goal, c.d.tight[at], int64(counts[i]))
		if len(j.pairs) < goalFew {
			if c.lookAgain(j, settled, at+1); len(j.pairs) == 0 {
				return false
			}
		}
	}
	return true
}

// lookAgain looks through all pairs for some that make the goal.
func (c *cascade) lookAgain(j *joining, settled, to int) {
	span := c.d.span(settled, to)
	c.index.fill(j.b, &span)
	j.pairs = j.pairs[:0]
	n := 0
	for ; n < len(j.a) && len(j.pairs) < goalSample; n++ {
		x := &j.a[n]
		rest := j.goal.minus(&x.mark)
		for at := c.index.find(rest.key(&span)); at >= 0; at = c.index.next[at] {
			if x.loss+j.b[at].loss > lossUnits {
				break
			}
			j.pairs = append(j.pairs, x.mark.plus(&j.b[at].mark))
		}
	}
	j.many = math.Log(float64(len(j.pairs)) * float64(len(j.a)) / float64(n))
}
