package cut

// Options tune Solve; the zero value works.
type Options struct {
	// Workers is how many boards are priced at once; 0 means one for each
	// processor.
	Workers int
	// Seed feeds the local search; equal seeds and no deadline give equal
	// plans.
	Seed uint64
	// GapGoal stops the search when the gap is no larger; 0 means that only a
	// proof or the context stops it.
	GapGoal float64
}
