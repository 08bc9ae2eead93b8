package cut

// Status says how far a plan is proven.
type Status string

const (
	// Optimal plans are proven: no plan is better.
	Optimal Status = "optimal"
	// Bounded plans are valid and no plan is better than their Bound.
	Bounded Status = "bounded"
	// Infeasible means it is proven that the boards cannot give every part
	// that MinBoardCost or Min asks for; the plan makes what it can and
	// Missing says what it lacks.
	Infeasible Status = "infeasible"
	// Short means that the plan lacks parts that are asked for and that it is
	// not known whether the boards could give them.
	Short Status = "short"
)

// Placement says that copy Copy (from 0) of Boards[Board] gives one of
// Parts[Part] with its low corner at X, Y ticks.
type Placement struct {
	Board, Copy int
	Part        int
	X, Y        int
}

// Plan is a cutting plan for an Instance.
//
// Under MaxValue, Value is the total value of the parts made and no plan is
// worth more than Bound. Under MinBoardCost, Value is the total cost of the
// boards used and no plan that makes every part costs less than Bound. Gap is
// |Value-Bound|/max(1, |Value|), 0 for an Optimal plan. Missing counts, by
// part, the copies asked for and not made; it is nil when there are none.
type Plan struct {
	Status     Status
	Value      int
	Bound      int
	Gap        float64
	Placements []Placement
	Missing    []int
	// Prices are the dual prices of the parts behind Bound: what one more
	// wanted copy would be worth.
	Prices []float64
}

// Used reports, by board, how many copies carry a placement.
func (p Plan) Used(in Instance) []int {
	seen := map[[2]int]bool{}
	used := make([]int, len(in.Boards))
	for _, pl := range p.Placements {
		key := [2]int{pl.Board, pl.Copy}
		if pl.Board >= 0 && pl.Board < len(used) && !seen[key] {
			seen[key] = true
			used[pl.Board]++
		}
	}
	return used
}

// Made reports, by part, how many copies the plan makes.
func (p Plan) Made(in Instance) []int {
	made := make([]int, len(in.Parts))
	for _, pl := range p.Placements {
		if pl.Part >= 0 && pl.Part < len(made) {
			made[pl.Part]++
		}
	}
	return made
}
