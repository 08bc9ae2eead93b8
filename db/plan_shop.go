package db

import (
	"math"

	"skepwood/analytics/cut"
	"skepwood/analytics/grade"
	"skepwood/analytics/wood"
)

func roundUp(l, step wood.Length) wood.Length { return (l + step - 1) / step * step }

func roundDown(l, step wood.Length) wood.Length { return l / step * step }

// outward widens a span to whole steps, within a board that ends at end.
func outward(from, size, end, step wood.Length) (at, span wood.Length) {
	at = roundDown(from, step)
	return at, min(roundUp(from+size, step), end) - at
}

// step is how finely boards and defects are taken into a plan, so that fences
// are set to figures that a rule has: thirty-seconds of an inch where every
// rule is in sixty-fourths, else millimetres. Boards are rounded down and
// defects outward.
func (p *Plan) step() wood.Length {
	for _, l := range []wood.Length{p.RipKerf, p.CrosscutKerf, p.EndTrim, p.LengthAllowance, p.JointAllowance, p.Clearance, p.OffcutLength, p.OffcutWidth} {
		if l%(wood.Inch/64) != 0 {
			return wood.Millimetre
		}
	}
	return wood.Inch / 32
}

// sawn is a part's size such that, with its allowances, stop and fence can be
// set to it: where it lies between the half steps of the plan, as sizes in inches
// do in a plan in millimetres, its width goes up to the next half step and its
// length to the next whole one, since boards are long and ticks are few.
func (p *Plan) sawn(size grade.Size) (length, width wood.Length) {
	step := p.step()
	length, width = size.Length+p.LengthAllowance, size.Width+p.JointAllowance
	if length%(step/2) != 0 {
		length = roundUp(length, step)
	}
	return length - p.LengthAllowance, roundUp(width, step/2) - p.JointAllowance
}

// value is what a part counts: thousandths of a board foot of its finished
// size.
func (p PlanPart) value() int {
	v := wood.VolumeOf(p.Size.Thickness, p.Size.Width, p.Size.Length).BoardFeet()
	return max(1, int(math.Round(1000*v)))
}

// rules turns the plan's columns into those of a shop.
func (p *Plan) rules() cut.Rules {
	objective := cut.CheapestBoards
	switch p.Objective {
	case "most_value":
		objective = cut.MostValue
	case "short_first":
		objective = cut.ShortFirst
	}
	return cut.Rules{
		Pattern: cut.Pattern(p.Pattern), Objective: objective, RipKerf: p.RipKerf, CrosscutKerf: p.CrosscutKerf, EndTrim: p.EndTrim,
		LengthAllowance: p.LengthAllowance, JointAllowance: p.JointAllowance, PlaneAllowance: p.PlaneAllowance,
		Clearance: p.Clearance, OffcutLength: p.OffcutLength, OffcutWidth: p.OffcutWidth, OffcutRate: p.offcutRate(),
	}
}

// offcutRate is what a cubic metre of kept wood counts, in the unit of
// [PlanPart.value]; nothing where no offcut is kept.
func (p *Plan) offcutRate() float64 {
	if p.OffcutLength == 0 || p.OffcutWidth == 0 {
		return 0
	}
	return p.OffcutShare / 100 * 1000 / float64(wood.BoardFoot)
}

// shop puts the problem in the planner's words.
func (p *Plan) shop(parts []PlanPart, boards []BuildBoard) cut.Shop {
	shop := cut.Shop{Rules: p.rules()}
	for i := range boards {
		shop.Boards = append(shop.Boards, p.shopBoard(&boards[i]))
	}
	for _, part := range parts {
		length, width := p.sawn(part.Size)
		shop.Parts = append(shop.Parts, cut.ShopPart{
			Code: part.Name(), Thickness: part.Size.Thickness, Length: length, Width: width,
			Value: part.value(), Max: part.Count, Faces: part.Faces, Inside: part.Zone == "inside",
		})
	}
	return shop
}

// shopBoard is a board in the planner's words. Its ends are its own or the
// plan's, and a little more where the cut would meet metal.
func (p *Plan) shopBoard(b *BuildBoard) cut.ShopBoard {
	step := p.step()
	sb := cut.ShopBoard{
		Code: b.Code, Thickness: b.Thickness, Length: roundDown(b.Length, step), Width: roundDown(b.Width, step),
		Cost: p.cost(b.Thickness, b.Width, b.Length), Inside: b.Verdict == "inside", DirtyStart: p.EndTrim, DirtyEnd: p.EndTrim, OwnEnds: true,
	}
	if b.LeftTrim != nil {
		sb.DirtyStart = roundUp(*b.LeftTrim, step)
	}
	if b.RightTrim != nil {
		sb.DirtyEnd = roundUp(*b.RightTrim, step)
	}
	for _, d := range b.Defects {
		x, dx := outward(d.X, d.DX, sb.Length, step)
		y, dy := outward(d.Y, d.DY, sb.Width, step)
		if dx > 0 && dy > 0 {
			sb.Defects = append(sb.Defects, cut.ShopDefect{X: x, Y: y, DX: dx, DY: dy, Face: cut.Face(d.Face), Metal: d.Metal})
		}
	}
	sb.DirtyStart, sb.DirtyEnd = p.rules().ClearTrims(sb)
	return sb
}

// cost is what a board counts where boards are to be saved: one, or its volume
// in thousandths of a board foot.
func (p *Plan) cost(t, w, l wood.Length) int {
	if p.Objective == "least_wood" {
		return max(1, int(math.Round(1000*wood.VolumeOf(t, w, l).BoardFeet())))
	}
	return 1
}
