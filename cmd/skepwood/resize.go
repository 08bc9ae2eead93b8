package main

import (
	"fmt"

	"skepwood/analytics/wood"
)

// resizeCmd answers what a board measures after its moisture has changed.
type resizeCmd struct {
	From      string `required:"" help:"Moisture content now, in percent."`
	To        string `required:"" help:"Moisture content afterwards, in percent."`
	Width     string `short:"w" help:"Width of the board."`
	Thickness string `help:"Thickness of the board."`
	Species   string `short:"s" help:"Common or scientific name; without it the bounds over all woods known."`
	Group     string `enum:"softwood,hardwood,any" default:"any" help:"Narrows the bounds where the species is not known."`
	Grain     string `enum:"flat,quarter,unknown" default:"unknown" help:"How the growth rings lie: flat, quarter or unknown."`
	Wanted    bool   `help:"The sizes are those wanted afterwards: asks what to cut now."`
	desk
}

// Run prints the new size of each side, with its bounds where they differ.
func (c *resizeCmd) Run(std *streams) error {
	f := &deskFlags{desk: c.desk}
	q := wood.ResizeQuestion{
		Species: c.Species, Grain: wood.Grain(c.Grain), Wanted: c.Wanted,
		Width: f.length("width", c.Width), Thickness: f.length("thickness", c.Thickness),
	}
	if c.Group != "any" {
		q.Group = wood.Group(c.Group)
	}
	if from, to := f.percent("from", c.From), f.percent("to", c.To); from != nil && to != nil {
		q.From, q.To = *from, *to
	}
	if err := f.err(); err != nil {
		return refuse(std, "resize", err)
	}
	a, err := wood.AskResize(q)
	if err != nil {
		return refuse(std, "resize", err)
	}
	return c.print(std.Out, a, resizeSheet(a))
}

func resizeSheet(a wood.ResizeAnswer) *deskSheet {
	s := &deskSheet{sources: a.Sources}
	s.line("wood", "%s, %s grain", a.Wood, a.Grain)
	s.line("moisture", "from %.4g %% to %.4g %%", a.FromPercent, a.ToPercent)
	s.line("figures", "%s", a.Basis)
	given, asked := "now", "then"
	if a.Wanted {
		given, asked = "wanted then", "cut now"
	}
	status := wood.Status("")
	capped := false
	for _, side := range a.Sides {
		s.line(fmt.Sprintf("%s %s", side.Across, given), "%s", bothLengths(side.Given))
		if side.Low == side.High {
			s.line(fmt.Sprintf("%s %s", side.Across, asked), "%s", bothLengths(side.Low))
		} else {
			s.line(fmt.Sprintf("%s %s, least", side.Across, asked), "%s", bothLengths(side.Low))
			s.line(fmt.Sprintf("%s %s, most", side.Across, asked), "%s", bothLengths(side.High))
			s.line(fmt.Sprintf("%s %s, worst", side.Across, asked), "%s", bothLengths(side.Worst))
		}
		status, capped = wood.Weakest(status, side.Status), capped || side.Capped
	}
	if capped {
		s.note("wood does not move above fibre saturation; a moisture content above it was taken as saturation")
	}
	s.note("boards are seldom truly flat- or quarter-sawn: width moves less than this and thickness more")
	s.fromMemory(status)
	return s
}
