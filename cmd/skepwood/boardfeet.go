package main

import (
	"skepwood/analytics/wood"
)

// boardfeetCmd answers how many board feet boards are.
type boardfeetCmd struct {
	Thickness string `arg:"" help:"Thickness, such as 3/4 or 19mm."`
	Width     string `arg:"" help:"Width."`
	Length    string `arg:"" help:"Length, such as 48, 8ft or 6' 2\"."`
	Count     int    `short:"n" default:"1" help:"Number of equal boards."`
	Nominal   bool   `help:"Thickness and width are a softwood's nominal size, such as 1 and 6."`
	desk
}

// Run prints the volume by actual size and by the softwood trade's rule.
func (c *boardfeetCmd) Run(std *streams) error {
	f := &deskFlags{desk: c.desk}
	q := wood.BoardFeetQuestion{
		Thickness: f.length("thickness", c.Thickness), Width: f.length("width", c.Width), Length: f.length("length", c.Length),
		Count: c.Count, Nominal: c.Nominal,
	}
	if c.Count < 1 {
		q.Count = -1 // the zero value would mean one board
	}
	if err := f.err(); err != nil {
		return refuse(std, "boardfeet", err)
	}
	a, err := wood.AskBoardFeet(q)
	if err != nil {
		return refuse(std, "boardfeet", err)
	}
	s := &deskSheet{sources: a.Sources}
	s.line("by actual size", "%.2f board feet, %.5f m3", a.BoardFeet, a.CubicMetres)
	s.line("boards", "%d of %s x %s x %s", a.Count,
		a.Thickness.Format(c.unit()), a.Width.Format(c.unit()), a.Length.Format(c.unit()))
	if t := a.Softwood; t != nil {
		s.line("softwood trade", "%.2f board feet as nominal %s x %s", t.BoardFeet,
			t.NominalThickness.Format(wood.UnitInch), t.NominalWidth.Format(wood.UnitInch))
		if t.Guessed {
			s.note("the nominal size is guessed from the measured one; hardwood is counted by surface measure instead")
		}
	} else {
		s.note("no dressed softwood size is near: count it by its actual size")
	}
	return c.print(std.Out, a, s)
}
