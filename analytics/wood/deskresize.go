package wood

import "fmt"

// ResizeQuestion asks what a board measures after its moisture has changed, or
// what to cut it to so that it measures right afterwards.
type ResizeQuestion struct {
	// Species is a name as FindMovement reads it. Empty means that it is not
	// known; Group then narrows the bounds, if given.
	Species string
	Group   Group
	// Width and Thickness are the sides asked for; 0 means not asked.
	Width, Thickness Length
	Grain            Grain
	// From and To are moisture contents in percent.
	From, To float64
	// Wanted says that the sizes are those wanted at To, and asks what to cut
	// at From.
	Wanted bool
}

// ResizeAnswer is the new size of each side that was asked for.
type ResizeAnswer struct {
	Wood        string         `json:"wood"`
	Grain       Grain          `json:"grain"`
	FromPercent float64        `json:"from_percent"`
	ToPercent   float64        `json:"to_percent"`
	Wanted      bool           `json:"wanted"`
	Sides       []ResizeOfSide `json:"sides"`
	// Basis says which figures of the wood are published and which computed.
	Basis   string   `json:"basis"`
	Sources []string `json:"sources"`
}

// ResizeOfSide is one side before and after; see Resized. Lengths are
// nanometres.
type ResizeOfSide struct {
	Across Across `json:"across"`
	Given  Length `json:"given_nm"`
	Low    Length `json:"low_nm"`
	High   Length `json:"high_nm"`
	Worst  Length `json:"worst_nm"`
	Status Status `json:"status"`
	// Capped says that moisture above fibre saturation was taken as saturation.
	Capped bool `json:"capped"`
}

// AskResize answers q by Movement.Resize or Movement.CutTo and fails as they
// and FindMovement do; no side to resize is ErrQuestion.
func AskResize(q ResizeQuestion) (ResizeAnswer, error) {
	if q.Width == 0 && q.Thickness == 0 {
		return ResizeAnswer{}, fmt.Errorf("the size %w: give a width, a thickness or both", ErrQuestion)
	}
	m, err := q.movement()
	if err != nil {
		return ResizeAnswer{}, err
	}
	a := ResizeAnswer{Wood: m.Name, Grain: q.Grain, FromPercent: q.From, ToPercent: q.To, Wanted: q.Wanted, Basis: m.Basis}
	if a.Grain == "" {
		a.Grain = UnknownGrain
	}
	change := m.Resize
	if q.Wanted {
		change = m.CutTo
	}
	for _, side := range []struct {
		across Across
		size   Length
	}{{AcrossWidth, q.Width}, {AcrossThickness, q.Thickness}} {
		if side.size == 0 {
			continue
		}
		r, err := change(Change{Size: side.size, Across: side.across, Grain: q.Grain, From: q.From, To: q.To})
		if err != nil {
			return ResizeAnswer{}, err
		}
		a.Sides = append(a.Sides, ResizeOfSide{side.across, side.size, r.Low, r.High, r.Worst, r.Status, r.Capped})
		a.Sources = []string{r.Source}
	}
	return a, nil
}

func (q ResizeQuestion) movement() (Movement, error) {
	if q.Species == "" {
		return MovementOfGroup(q.Group)
	}
	return FindMovement(q.Species)
}
