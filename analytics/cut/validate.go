package cut

import (
	"fmt"
	"slices"
)

// Limits keep memory bounded and sums far from overflow.
const (
	maxTicks  = 1 << 20
	maxBoards = 200_000
	maxParts  = 5_000
	maxMoney  = 1 << 40
)

// Validate reports the first thing in the instance that cannot be planned;
// errors match ErrInstance. Parts larger than every board, overlapping
// defects, a kerf of 0 or wider than a board are no fault: such parts are
// simply not made.
func (in Instance) Validate() error {
	if err := in.validateHead(); err != nil {
		return err
	}
	seen := map[int]int{}
	for i, b := range in.Boards {
		if err := b.validate(); err != nil {
			err.Where = fmt.Sprintf("boards[%d]%s", i, err.Where)
			return err
		}
		if first, again := seen[b.ID]; again {
			return &InstanceError{fmt.Sprintf("boards[%d].id", i), fmt.Sprintf("%d is already the id of boards[%d]; give each board its own", b.ID, first)}
		}
		seen[b.ID] = i
	}
	clear(seen)
	for i, p := range in.Parts {
		if err := p.validate(in.Objective); err != nil {
			err.Where = fmt.Sprintf("parts[%d]%s", i, err.Where)
			return err
		}
		if first, again := seen[p.ID]; again {
			return &InstanceError{fmt.Sprintf("parts[%d].id", i), fmt.Sprintf("%d is already the id of parts[%d]; give each part its own", p.ID, first)}
		}
		seen[p.ID] = i
	}
	return nil
}

func (in Instance) validateHead() error {
	patterns := []Pattern{Rip2, Crosscut2, Rip3, Crosscut3, Rip2Trim, Crosscut2Trim, Guillotine}
	switch {
	case !slices.Contains(patterns, in.Pattern):
		return &InstanceError{"pattern", fmt.Sprintf("%q is not one of %v", in.Pattern, patterns)}
	case in.Objective != MaxValue && in.Objective != MinBoardCost:
		return &InstanceError{"objective", fmt.Sprintf("%q is not %s or %s", in.Objective, MaxValue, MinBoardCost)}
	case in.Kerf.Rip < 0 || in.Kerf.Crosscut < 0 || in.Kerf.Rip > maxTicks || in.Kerf.Crosscut > maxTicks:
		return &InstanceError{"kerf", fmt.Sprintf("%d and %d: give 0 to %d ticks", in.Kerf.Rip, in.Kerf.Crosscut, maxTicks)}
	case len(in.Boards) > maxBoards:
		return &InstanceError{"boards", fmt.Sprintf("%d boards: at most %d can be planned at once", len(in.Boards), maxBoards)}
	case len(in.Parts) > maxParts:
		return &InstanceError{"parts", fmt.Sprintf("%d part sizes: at most %d can be planned at once", len(in.Parts), maxParts)}
	}
	return nil
}

func (b Board) validate() *InstanceError {
	switch {
	case b.Length <= 0 || b.Width <= 0 || b.Length > maxTicks || b.Width > maxTicks:
		return &InstanceError{"", fmt.Sprintf("size %d x %d: both must be 1 to %d ticks", b.Length, b.Width, maxTicks)}
	case b.Cost < 0 || b.Cost > maxMoney:
		return &InstanceError{".cost", fmt.Sprintf("%d: give 0 to %d", b.Cost, maxMoney)}
	case b.Count < 0 || b.Count > Unlimited:
		return &InstanceError{".count", fmt.Sprintf("%d: give 0 (once) to %d (unlimited)", b.Count, Unlimited)}
	}
	for i, d := range b.Defects {
		where := fmt.Sprintf(".defects[%d]", i)
		switch {
		case d.DX <= 0 || d.DY <= 0:
			return &InstanceError{where, fmt.Sprintf("size %d x %d: a defect covers at least one tick each way", d.DX, d.DY)}
		case d.X < 0 || d.Y < 0 || d.X > b.Length-d.DX || d.Y > b.Width-d.DY:
			return &InstanceError{where, fmt.Sprintf("%d,%d to %d,%d lies off the board of %d x %d",
				d.X, d.Y, d.X+d.DX, d.Y+d.DY, b.Length, b.Width)}
		case d.Face != Top && d.Face != Bottom && d.Face != Both && d.Face != "":
			return &InstanceError{where + ".face", fmt.Sprintf("%q is not top, bottom or both", d.Face)}
		}
	}
	return nil
}

func (p Part) validate(objective Objective) *InstanceError {
	switch {
	case p.Length <= 0 || p.Width <= 0 || p.Length > maxTicks || p.Width > maxTicks:
		return &InstanceError{"", fmt.Sprintf("size %d x %d: both must be 1 to %d ticks", p.Length, p.Width, maxTicks)}
	case p.Value < 0 || p.Value > maxMoney:
		return &InstanceError{".value", fmt.Sprintf("%d: give 0 to %d", p.Value, maxMoney)}
	case p.Faces < 0 || p.Faces > 2:
		return &InstanceError{".faces", fmt.Sprintf("%d: a part has 0, 1 or 2 clear faces", p.Faces)}
	case p.Max < 0 || p.Max > Unlimited || p.Min < 0:
		return &InstanceError{".max", fmt.Sprintf("at least %d and at most %d: counts cannot be negative", p.Min, p.Max)}
	case p.Min > p.Max:
		return &InstanceError{".min", fmt.Sprintf("at least %d but at most %d are wanted", p.Min, p.Max)}
	case objective == MinBoardCost && p.Max == Unlimited:
		return &InstanceError{".max", "an unlimited number is asked for: say how many"}
	}
	return nil
}
