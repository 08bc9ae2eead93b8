package main

import (
	"fmt"

	"skepwood/analytics/wood"
)

// ovendryCmd answers moisture contents from masses.
type ovendryCmd struct {
	Wet      string   `help:"Mass of the piece before drying, such as 98.55g."`
	Dry      string   `help:"Its oven-dry mass."`
	Sample   string   `help:"Mass of a sample piece when its end sections were cut."`
	Section  []string `sep:"none" help:"Moisture content of an end section in percent; give one for each."`
	Now      string   `help:"Mass of the sample piece now."`
	Moisture string   `short:"m" help:"A moisture content (percent of oven-dry mass) to convert to wet basis."`
	WetBasis string   `help:"Water in percent of the total mass, to convert to moisture content."`
	desk
}

// Run prints the moisture content on both bases.
func (c *ovendryCmd) Run(std *streams) error {
	f := &deskFlags{desk: c.desk}
	q := wood.OvenDryQuestion{
		Wet: f.mass("wet", c.Wet), Dry: f.mass("dry", c.Dry),
		Sample: wood.Sample{Mass: f.mass("sample", c.Sample)}, Now: f.mass("now", c.Now),
		MC: f.percent("moisture", c.Moisture), WetBasis: f.percent("wet-basis", c.WetBasis),
	}
	for i, s := range c.Section {
		flag := fmt.Sprintf("section (%d)", i+1)
		if p := f.percent(flag, s); p != nil {
			q.Sample.SectionMC = append(q.Sample.SectionMC, *p)
		} else {
			f.fault(flag, wood.ErrQuantity)
		}
	}
	if err := f.err(); err != nil {
		return refuse(std, "ovendry", err)
	}
	a, err := wood.AskOvenDry(q)
	if err != nil {
		return refuse(std, "ovendry", err)
	}
	s := &deskSheet{sources: a.Sources}
	s.line("moisture content", "%.1f %% of oven-dry mass", a.MoisturePercent)
	s.line("wet basis", "%.1f %% of total mass", a.WetBasisPercent)
	switch a.Method {
	case "sample piece":
		s.line("calculated oven-dry mass", "%s", bothMasses(a.OvenDryKg))
	case "oven-dry":
		s.note("not for creosote- or oil-treated wood: what boils off is counted as water")
	}
	return c.print(std.Out, a, s)
}
