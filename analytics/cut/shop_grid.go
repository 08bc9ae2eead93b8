package cut

import (
	"fmt"
	"math"
	"slices"

	"skepwood/analytics/wood"
)

// gridder turns a shop's lengths into ticks, one grid for each direction.
type gridder struct {
	s      Shop
	grid   Grid
	starts []wood.Length // by instance board: what was trimmed off its start
	from   []int         // by instance board: the shop's board
	thick  []wood.Length // part thicknesses, ascending; bit 1+i of Needs
	wants  int           // how many of the instance's parts are the shop's
}

// insideBit marks boards whose verdict allows inside parts.
const insideBit = 1

// instance turns the shop problem into one in ticks.
func (s Shop) instance() (Instance, *gridder, error) {
	g := &gridder{s: s}
	if err := s.validate(); err != nil {
		return Instance{}, nil, err
	}
	g.setGrid()
	in := Instance{Pattern: s.Rules.Pattern, Objective: MaxValue, Kerf: Kerf{up(s.Rules.RipKerf, g.grid.Y), up(s.Rules.CrosscutKerf, g.grid.X)}}
	if s.Rules.Objective != MostValue {
		in.Objective = MinBoardCost
	}
	g.setThick()
	if len(g.thick) > 60 {
		return in, g, &InstanceError{"parts", fmt.Sprintf("%d thicknesses: at most 60 can be planned at once", len(g.thick))}
	}
	for i := range s.Boards {
		g.addBoard(&in, i)
	}
	g.costs(&in)
	for i, p := range s.Parts {
		in.Parts = append(in.Parts, g.part(i, p))
	}
	g.wants = len(in.Parts)
	return in, g, in.Validate()
}

// setThick lists the thicknesses of the parts.
func (g *gridder) setThick() {
	for _, p := range g.s.Parts {
		if !slices.Contains(g.thick, p.Thickness) && p.Thickness > 0 {
			g.thick = append(g.thick, p.Thickness)
		}
	}
	slices.Sort(g.thick)
}

// validate reports lengths that make no sense.
func (s Shop) validate() error {
	r := s.Rules
	if !slices.Contains([]ShopObjective{MostValue, CheapestBoards, ShortFirst}, r.Objective) {
		return &InstanceError{"rules.objective", fmt.Sprintf("%q is not %s, %s or %s", r.Objective, MostValue, CheapestBoards, ShortFirst)}
	}
	for _, l := range []wood.Length{r.RipKerf, r.CrosscutKerf, r.EndTrim, r.LengthAllowance, r.JointAllowance, r.PlaneAllowance, r.Clearance, r.OffcutLength, r.OffcutWidth} {
		if l < 0 || l > 100*wood.Metre {
			return &InstanceError{"rules", "a kerf, trim, allowance, clearance or offcut size is negative or above 100 m"}
		}
	}
	if !(r.OffcutRate >= 0) || r.OffcutRate > 1e12 || r.OffcutRate > 0 && (r.OffcutLength == 0 || r.OffcutWidth == 0) {
		return &InstanceError{"rules.offcut", "a rate for offcuts is 0 or more and needs a smallest length and width"}
	}
	codes := map[string]bool{}
	for i, b := range s.Boards {
		where := fmt.Sprintf("boards[%d]", i)
		switch {
		case b.Length <= 0 || b.Width <= 0 || b.Thickness < 0 || b.DirtyStart < 0 || b.DirtyEnd < 0 || b.Length > 100*wood.Metre || b.Width > 100*wood.Metre:
			return &InstanceError{where, "length and width must be above 0 and at most 100 m, thickness and dirty ends 0 or more"}
		case b.Code != "" && codes[b.Code]:
			return &InstanceError{where + ".code", fmt.Sprintf("%q is on another board already", b.Code)}
		}
		codes[b.Code] = true
		for j, d := range b.Defects {
			if d.DX <= 0 || d.DY <= 0 || d.X < 0 || d.Y < 0 || d.X > b.Length-d.DX || d.Y > b.Width-d.DY {
				return &InstanceError{fmt.Sprintf("%s.defects[%d]", where, j), "a defect has a size and lies on its board"}
			}
		}
	}
	for i, p := range s.Parts {
		if p.Length <= 0 || p.Width <= 0 || p.Thickness < 0 || p.Length > 100*wood.Metre || p.Width > 100*wood.Metre {
			return &InstanceError{fmt.Sprintf("parts[%d]", i), "length and width must be above 0 and at most 100 m, thickness 0 or more"}
		}
	}
	return nil
}

// setGrid chooses the ticks: the greatest length that divides every size, or,
// where that is too fine, one that keeps the largest board within MaxTicks.
func (g *gridder) setGrid() {
	r := g.s.Rules
	x := sizes{kerf: r.CrosscutKerf, saw: []wood.Length{r.CrosscutKerf}, rest: []wood.Length{r.EndTrim, r.LengthAllowance, r.Clearance, r.OffcutLength}, most: 4096}
	y := sizes{kerf: r.RipKerf, saw: []wood.Length{r.RipKerf}, rest: []wood.Length{r.JointAllowance, r.Clearance, r.OffcutWidth}, most: 1024}
	for _, b := range g.s.Boards {
		x.rest, y.rest = append(x.rest, b.Length, b.DirtyStart, b.DirtyEnd), append(y.rest, b.Width)
		x.longest, y.longest = max(x.longest, b.Length), max(y.longest, b.Width)
		for _, d := range b.Defects {
			x.rest, y.rest = append(x.rest, d.X, d.DX), append(y.rest, d.Y, d.DY)
		}
	}
	for _, p := range g.s.Parts {
		x.saw, y.saw = append(x.saw, p.Length+r.LengthAllowance), append(y.saw, p.Width+r.JointAllowance)
	}
	if r.MaxTicks > 0 {
		x.most, y.most = r.MaxTicks, r.MaxTicks
	}
	var exactX, exactY bool
	g.grid.X, exactX = x.tick()
	g.grid.Y, exactY = y.tick()
	g.grid.Exact = exactX && exactY
}

// sizes are the lengths of one direction: those that a saw is set to, its kerf
// and the parts with their allowances, and the rest; longest is the greatest of
// a board and most how many ticks it may have.
type sizes struct {
	kerf, longest wood.Length
	saw, rest     []wood.Length
	most          int
}

// tick returns the greatest common divisor of all sizes; where that is too fine,
// a coarser tick, at most twice the finest that may be, that still divides what
// a saw is set to, best in steps that a rule has, else one that divides the
// kerf, so that the pieces of a board come no nearer to its start than drawn
// with every cut; else the finest.
func (s sizes) tick() (tick wood.Length, exact bool) {
	saw := divisor(0, s.saw)
	common := max(1, divisor(saw, s.rest))
	finest := s.longest/wood.Length(s.most) + 1
	if s.longest/common <= wood.Length(s.most) {
		return common, true
	}
	for _, try := range []struct{ of, step wood.Length }{{saw, wood.Inch / 64}, {saw, wood.Millimetre / 2}, {saw, 1}, {s.kerf, 1}} {
		if tick := whole(try.of, try.step, finest); tick > 0 {
			return tick, false
		}
	}
	return finest, false
}

// divisor returns the greatest common divisor of a length and others.
func divisor(common wood.Length, others []wood.Length) wood.Length {
	for _, s := range others {
		for a := s; a != 0; {
			common, a = a, common%a
		}
	}
	return common
}

// whole returns the least tick from finest to twice that which divides a length
// and which step divides, 0 for none.
func whole(l, step, finest wood.Length) wood.Length {
	for k := l / finest; k >= 1 && l/k <= 2*finest; k-- {
		if l%k == 0 && l/k%step == 0 {
			return l / k
		}
	}
	return 0
}

// down and up round a length to whole ticks.
func down(l, tick wood.Length) int { return int(l / tick) }
func up(l, tick wood.Length) int   { return int((l + tick - 1) / tick) }

// addBoard adds a board, its dirty ends taken off, if anything is left.
func (g *gridder) addBoard(in *Instance, i int) {
	b := g.s.Boards[i]
	start, end := g.s.Rules.Trims(b)
	length := b.Length - start - end
	board := Board{ID: i, Length: down(length, g.grid.X), Width: down(b.Width, g.grid.Y), Cost: b.Cost, Count: b.Count}
	if length <= 0 || board.Length <= 0 || board.Width <= 0 {
		return
	}
	for _, d := range b.Defects {
		if spot, on := g.defect(d, start, board); on {
			board.Defects = append(board.Defects, spot)
		}
	}
	if b.Inside {
		board.Has |= insideBit
	}
	for t, thick := range g.thick {
		if b.Thickness == 0 || b.Thickness >= thick+g.s.Rules.PlaneAllowance {
			board.Has |= 2 << t
		}
	}
	in.Boards = append(in.Boards, board)
	g.from, g.starts = append(g.from, i), append(g.starts, start)
}

// defect turns a defect into ticks, outward, with the clearance round metal.
func (g *gridder) defect(d ShopDefect, start wood.Length, b Board) (Defect, bool) {
	x1, x2, y1, y2 := d.X-start, d.X-start+d.DX, d.Y, d.Y+d.DY
	if d.Metal { // whichever face it shows on, no blade and no plane may meet it
		c := g.s.Rules.Clearance
		d.Face = Both
		x1, x2, y1, y2 = x1-c, x2+c, y1-c, y2+c
	}
	fromX, toX := down(max(0, x1), g.grid.X), min(b.Length, up(max(0, x2), g.grid.X))
	fromY, toY := down(max(0, y1), g.grid.Y), min(b.Width, up(max(0, y2), g.grid.Y))
	return Defect{fromX, fromY, toX - fromX, toY - fromY, d.Face}, toX > fromX && toY > fromY
}

// costs lays costs on boards by the objective.
func (g *gridder) costs(in *Instance) {
	if g.s.Rules.Objective != ShortFirst {
		return
	}
	longest, widest := largest(in.Boards)
	shortCosts(in.Boards, longest, widest)
}

// largest returns the greatest length and the greatest width of boards.
func largest(boards []Board) (longest, widest int) {
	longest, widest = 1, 1
	for _, b := range boards {
		longest, widest = max(longest, b.Length), max(widest, b.Width)
	}
	return longest, widest
}

// shortCosts makes a board cost its area times its length, in thousandths of
// the largest one's.
func shortCosts(boards []Board, longest, widest int) {
	for i := range boards {
		b := &boards[i]
		l, w := float64(b.Length)/float64(longest), float64(b.Width)/float64(widest)
		b.Cost = max(1, int(math.Round(1000*l*l*w)))
	}
}

// part turns a part, with its allowances, into ticks.
func (g *gridder) part(i int, p ShopPart) Part {
	r := g.s.Rules
	part := Part{
		ID: i, Length: up(p.Length+r.LengthAllowance, g.grid.X), Width: up(p.Width+r.JointAllowance, g.grid.Y),
		Value: p.Value, Min: p.Min, Max: p.Max, Faces: p.Faces,
	}
	if p.Inside {
		part.Needs |= insideBit
	}
	if at := slices.Index(g.thick, p.Thickness); at >= 0 {
		part.Needs |= 2 << at
	}
	return part
}
