package cut

// Solution is a plan in the words of instance files. Boards and parts are
// named by their ids.
type Solution struct {
	Status     Status          `json:"status"`
	Value      int             `json:"value"`
	Bound      int             `json:"bound"`
	Gap        float64         `json:"gap"`
	Seconds    float64         `json:"seconds"`
	Missing    []MissingPart   `json:"missing,omitempty"`
	Placements []SolutionPlace `json:"placements"`
}

// SolutionPlace is a placement in the words of instance files. Copy tells the
// copies of a board with a count apart.
type SolutionPlace struct {
	Board int `json:"board"`
	Copy  int `json:"copy,omitempty"`
	Part  int `json:"part"`
	X     int `json:"x"`
	Y     int `json:"y"`
}

// MissingPart says how many copies of a part a plan lacks.
type MissingPart struct {
	Part   int `json:"part"`
	Copies int `json:"copies"`
}

// Solution writes a plan for the case's instance in the file's words; seconds
// is how long it took to find.
func (c Case) Solution(plan Plan, seconds float64) Solution {
	s := Solution{
		Status: plan.Status, Value: plan.Value, Bound: plan.Bound, Gap: plan.Gap, Seconds: seconds,
		Placements: []SolutionPlace{},
	}
	for i, n := range plan.Missing {
		if n > 0 {
			s.Missing = append(s.Missing, MissingPart{c.Instance.Parts[i].ID, n})
		}
	}
	for _, p := range plan.Placements {
		place := SolutionPlace{c.Instance.Boards[p.Board].ID, p.Copy, c.Instance.Parts[p.Part].ID, p.X, p.Y}
		if c.Linear {
			place.Board, place.Copy = p.Copy, 0
		}
		s.Placements = append(s.Placements, place)
	}
	return s
}
