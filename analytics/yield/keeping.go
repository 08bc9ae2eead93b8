package yield

import "math"

// keeping is what a memory keeps of the deviation of a source from its mean: at
// each trip of what there was at the one before, and today of what there was at the
// last. Places of first trips, and of sources without any, are 0.
type keeping struct {
	trip  []float64
	today []float64 // of each source
}

// newKeeping works out what the longest of memories keeps, exp(−Δ/L) of a time Δ.
// start and t are those of a series.
func newKeeping(start []int, t []float64, today float64) *keeping {
	k := &keeping{trip: make([]float64, len(t)), today: make([]float64, len(start)-1)}
	for i := range k.today {
		from, to := start[i], start[i+1]
		if from == to {
			continue
		}
		for j := from + 1; j < to; j++ {
			k.trip[j] = math.Exp((t[j-1] - t[j]) / memories[0])
		}
		k.today[i] = math.Exp(-math.Max(0, today-t[to-1]) / memories[0])
	}
	return k
}

// shorten goes on to the next of memories. As that is a third of the one before,
// what it keeps is the third power, which costs no exponential for each trip.
func (k *keeping) shorten() {
	for _, left := range [][]float64{k.trip, k.today} {
		for j, x := range left {
			left[j] = x * x * x
		}
	}
}
