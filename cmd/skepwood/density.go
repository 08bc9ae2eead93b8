package main

import (
	"skepwood/analytics/wood"
)

// densityCmd answers what wood weighs, or what a weighed board is.
type densityCmd struct {
	Species   string `short:"s" help:"Common or scientific name."`
	Moisture  string `short:"m" required:"" help:"Moisture content in percent."`
	Mass      string `help:"Mass of a board on the scales, such as 1.2kg or 2lb3oz: asks for its own density."`
	Thickness string `help:"Thickness of the board."`
	Width     string `help:"Width of the board."`
	Length    string `help:"Length of the board."`
	desk
}

// Run prints density and specific gravity, and the mass of a board if its size
// was given.
func (c *densityCmd) Run(std *streams) error {
	f := &deskFlags{desk: c.desk}
	q := wood.DensityQuestion{
		Species: c.Species, Mass: f.mass("mass", c.Mass),
		Thickness: f.length("thickness", c.Thickness), Width: f.length("width", c.Width), Length: f.length("length", c.Length),
	}
	if mc := f.percent("moisture", c.Moisture); mc != nil {
		q.MC = *mc
	}
	if err := f.err(); err != nil {
		return refuse(std, "density", err)
	}
	a, err := wood.AskDensity(q)
	if err != nil {
		return refuse(std, "density", err)
	}
	return c.print(std.Out, a, densitySheet(a))
}

func densitySheet(a wood.DensityAnswer) *deskSheet {
	s := &deskSheet{sources: a.Sources}
	if a.Species != "" {
		s.line("species", "%s (%s)", a.Species, a.ScientificName)
	}
	density := wood.Density(a.DensityKgM3)
	s.line("density", "%.0f kg/m3 (%.1f lb/ft3) at %.4g %% moisture", a.DensityKgM3, density.PoundsPerCubicFoot(), a.MoisturePercent)
	s.line("specific gravity", "%.3f at that moisture, %.3f basic (green volume)", a.SpecificGravity, a.BasicGravity)
	if a.MassKg > 0 {
		s.line("board", "%s, of it %s without water", bothMasses(a.MassKg), bothMasses(a.OvenDryKg))
	}
	s.line("most water it can hold", "%.0f %%", a.MaxMC)
	switch {
	case a.Weighed && a.Species != "":
		s.line("mean of the species", "%.0f kg/m3", a.SpeciesDensityKgM3)
		s.note("single trees of a species differ by about 10 %% (one standard deviation, from memory)")
	case a.Weighed:
		s.note("shrinkage in volume not known: 26.5 times the basic specific gravity stands in for it")
	default:
		s.note("mean of the species, from its %s; single trees differ by about 10 %% (one standard deviation, from memory)", a.Figure)
	}
	s.fromMemory(a.Status)
	return s
}
