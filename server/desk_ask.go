package server

import (
	"fmt"

	"skepwood/analytics/wood"
	"skepwood/db"
)

// deskTools are the calculators in the order in which wood is handled: from
// the air it lies in to the saw.
var deskTools = []deskTool{
	{
		ask: "air", title: "Equilibrium moisture", lead: "How dry wood becomes in some air, or which air keeps it as dry as it is. Give the temperature and one of the others.",
		fields: []db.ColumnInfo{
			{Name: "temperature", Label: "Air temperature", Example: "70 F or 21 C", Required: true},
			{Name: "humidity", Label: "Relative humidity, %", Example: "65", InputMode: "decimal"},
			{Name: "wet_bulb", Label: "or wet bulb", Example: "62 F"},
			{Name: "dew_point", Label: "or dew point", Example: "58 F"},
			{Name: "moisture", Label: "or moisture the air shall keep, %", Example: "12", InputMode: "decimal"},
		},
		answer: askAir, blames: [][2]string{{"exactly one", "humidity"}, {"temperature", "temperature"}, {"dry bulb", "temperature"}, {"wet bulb", "wet_bulb"}, {"dew point", "dew_point"}, {"equilibrium", "moisture"}, {"humidity", "humidity"}},
	},
	{
		ask: "density", title: "Density", lead: "What a species weighs, or what a board on the scales is. A mass needs the board's three sizes.",
		fields: []db.ColumnInfo{
			{Name: "moisture", Label: "Moisture, %", Example: "12", InputMode: "decimal", Required: true},
			{Name: "species", Label: "Species", Example: "white ash"},
			{Name: "mass", Label: "Mass of the board", Help: "Without a unit, grams.", Example: "1.2 kg or 2 lb 3 oz"},
			{Name: "thickness", Label: "Thickness", Example: "3/4 in"},
			{Name: "width", Label: "Width", Example: "5 1/2 in"},
			{Name: "length", Label: "Length", Example: "48 in"},
		},
		answer: askDensity, blames: [][2]string{{"give a species", "species"}, {"a mass alone", "mass"}, {"none of them", "thickness"}, {"moisture", "moisture"}, {"mass", "mass"}, {"thickness", "thickness"}, {"width", "width"}, {"length", "length"}, {"the board", "thickness"}, {"gravity", "mass"}, {"density", "species"}, {"", "species"}},
	},
	{
		ask: "resize", title: "Size change", lead: "What a board measures after its moisture has changed, or what to cut now so that it fits then.",
		fields: []db.ColumnInfo{
			{Name: "from", Label: "Moisture now, %", Example: "16", InputMode: "decimal", Required: true},
			{Name: "to", Label: "Moisture then, %", Example: "9", InputMode: "decimal", Required: true},
			{Name: "width", Label: "Width", Example: "9 1/4 in"},
			{Name: "thickness", Label: "Thickness", Example: "3/4 in"},
			{Name: "species", Label: "Species", Help: "Without one, the bounds over all woods known.", Example: "pine, eastern white"},
			{Name: "group", Label: "Softwood or hardwood", Options: []db.Option{{Value: "softwood", Label: "softwood"}, {Value: "hardwood", Label: "hardwood"}}},
			{Name: "grain", Label: "Grain", Help: "How the growth rings lie; unknown counts the worst.", Options: []db.Option{{Value: "flat", Label: "flat-sawn"}, {Value: "quarter", Label: "quarter-sawn"}}},
			{Name: "wanted", Label: "The sizes are", Options: []db.Option{{Value: "then", Label: "those wanted then: what do I cut now?"}}},
		},
		answer: askResize, blames: [][2]string{{"before", "from"}, {"after", "to"}, {"moisture", "from"}, {"grain", "grain"}, {"the size", "width"}, {"size", "width"}, {"", "species"}},
	},
	{
		ask: "feet", title: "Board feet", lead: "How much wood boards alike are.",
		fields: []db.ColumnInfo{
			{Name: "thickness", Label: "Thickness", Example: "3/4 in", Required: true},
			{Name: "width", Label: "Width", Example: "5 1/2 in", Required: true},
			{Name: "length", Label: "Length", Example: "48 in", Required: true},
			{Name: "count", Label: "How many alike", Example: "7", InputMode: "numeric"},
			{Name: "nominal", Label: "Thickness and width are", Options: []db.Option{{Value: "nominal", Label: "a softwood's nominal size, like 1 and 6"}}},
		},
		answer: askBoardFeet, blames: [][2]string{{"count", "count"}, {"PS 20", "nominal"}, {"softwood", "nominal"}, {"nominal", "nominal"}},
	},
	{
		ask: "oven", title: "Oven-dry", lead: "Moisture from masses: a piece before and after the oven, or a sample piece weighed again; or one percentage on the other basis.",
		fields: []db.ColumnInfo{
			{Name: "wet", Label: "Mass before drying", Example: "98.55 g"},
			{Name: "dry", Label: "Oven-dry mass", Example: "82.1 g"},
			{Name: "sample", Label: "or mass of the sample piece when its ends were cut", Example: "3.3 kg"},
			{Name: "section1", Label: "Moisture of its first end, %", Example: "60", InputMode: "decimal"},
			{Name: "section2", Label: "Moisture of its second end, %", Example: "70", InputMode: "decimal"},
			{Name: "now", Label: "Mass of the sample piece now", Example: "2.4 kg"},
			{Name: "moisture", Label: "or moisture to convert, % of oven-dry mass", Example: "20", InputMode: "decimal"},
			{Name: "wet_basis", Label: "or water to convert, % of total mass", Example: "16.7", InputMode: "decimal"},
		},
		answer: askOvenDry, blames: [][2]string{{"oven-dry mass", "dry"}, {"wet-basis", "wet_basis"}, {"of a section", "section1"}, {"number of sections", "section1"}, {"of the sample piece", "now"}, {"mass of", "sample"}, {"moisture content", "moisture"}},
	},
}

func askAir(in *deskInput) (out deskAnswer, err error) {
	in.need("temperature")
	q := wood.AirQuestion{Humidity: in.percent("humidity"), WetBulb: in.temperature("wet_bulb"), DewPoint: in.temperature("dew_point"), Moisture: in.percent("moisture")}
	if t := in.temperature("temperature"); t != nil {
		q.Temperature = *t
	}
	if len(in.faults) > 0 {
		return out, nil
	}
	a, err := wood.AskAir(q)
	if err != nil {
		return out, err
	}
	out.Sources = a.Sources
	out.line("Equilibrium moisture", fmt.Sprintf("%.1f %%", a.MoisturePercent))
	out.line("Air", bothTemperatures(q.Temperature)+fmt.Sprintf(", relative humidity %.1f %%", a.HumidityPercent))
	out.line("Worked out from", a.From)
	out.note("Real wood lags behind: it stays about a percent wetter when it dries to this, drier when it gains.")
	if a.Extrapolated {
		out.note("Beyond the published table (30 to 210 °F, 5 to 95 %): extrapolated by the equation.")
	}
	return out, nil
}

func askDensity(in *deskInput) (out deskAnswer, err error) {
	in.need("moisture")
	q := wood.DensityQuestion{Species: in.values["species"], Mass: in.mass("mass"),
		Thickness: in.length("thickness"), Width: in.length("width"), Length: in.length("length")}
	if mc := in.percent("moisture"); mc != nil {
		q.MC = *mc
	}
	if len(in.faults) > 0 {
		return out, nil
	}
	a, err := wood.AskDensity(q)
	if err != nil {
		return out, err
	}
	out.Sources = a.Sources
	if a.Species != "" {
		out.line("Species", a.Species+" ("+a.ScientificName+")")
	}
	out.line("Density", fmt.Sprintf("%.0f kg/m³ (%.1f lb/ft³) at %.4g %% moisture", a.DensityKgM3, wood.Density(a.DensityKgM3).PoundsPerCubicFoot(), a.MoisturePercent))
	out.line("Specific gravity", fmt.Sprintf("%.3f at that moisture, %.3f basic (green volume)", a.SpecificGravity, a.BasicGravity))
	if a.MassKg > 0 {
		out.line("Board", bothMasses(a.MassKg)+", of it "+bothMasses(a.OvenDryKg)+" without water")
	}
	out.line("Most water it can hold", fmt.Sprintf("%.0f %%", a.MaxMC))
	switch {
	case a.Weighed && a.Species != "":
		out.line("Mean of the species", fmt.Sprintf("%.0f kg/m³", a.SpeciesDensityKgM3))
		out.note("Single trees of a species differ by about 10 % (one standard deviation, from memory).")
	case a.Weighed:
		out.note("Its shrinkage is not known: 26.5 times the basic specific gravity stands in for it.")
	default:
		out.note("Mean of the species, from its " + a.Figure + "; single trees differ by about 10 % (one standard deviation, from memory).")
	}
	out.fromMemory(a.Status)
	return out, nil
}

func askResize(in *deskInput) (out deskAnswer, err error) {
	in.need("from", "to")
	q := wood.ResizeQuestion{Species: in.values["species"], Group: wood.Group(in.values["group"]), Grain: wood.Grain(in.values["grain"]),
		Width: in.length("width"), Thickness: in.length("thickness"), Wanted: in.values["wanted"] != ""}
	if from, to := in.percent("from"), in.percent("to"); from != nil && to != nil {
		q.From, q.To = *from, *to
	}
	if len(in.faults) > 0 {
		return out, nil
	}
	a, err := wood.AskResize(q)
	if err != nil {
		return out, err
	}
	out.Sources = a.Sources
	out.line("Wood", fmt.Sprintf("%s, %s grain, from %.4g %% to %.4g %%", a.Wood, a.Grain, a.FromPercent, a.ToPercent))
	out.line("Figures", a.Basis)
	given, asked := "now", "then"
	if a.Wanted {
		given, asked = "wanted then", "cut now"
	}
	status, capped := wood.Status(""), false
	for _, side := range a.Sides {
		out.line(fmt.Sprintf("%s %s", side.Across, given), bothLengths(side.Given))
		if side.Low == side.High {
			out.line(fmt.Sprintf("%s %s", side.Across, asked), bothLengths(side.Low))
		} else {
			out.line(fmt.Sprintf("%s %s", side.Across, asked), bothLengths(side.Low)+" to "+bothLengths(side.High))
			out.line(fmt.Sprintf("%s %s, worst", side.Across, asked), bothLengths(side.Worst))
		}
		status, capped = wood.Weakest(status, side.Status), capped || side.Capped
	}
	if capped {
		out.note("Wood does not move above fibre saturation; a moisture above it was taken as saturation.")
	}
	out.note("Boards are seldom truly flat- or quarter-sawn: width moves less than this and thickness more.")
	out.fromMemory(status)
	return out, nil
}

func askBoardFeet(in *deskInput) (out deskAnswer, err error) {
	in.need("thickness", "width", "length")
	q := wood.BoardFeetQuestion{Thickness: in.length("thickness"), Width: in.length("width"), Length: in.length("length"),
		Count: in.whole("count", 1), Nominal: in.values["nominal"] != ""}
	if len(in.faults) > 0 {
		return out, nil
	}
	a, err := wood.AskBoardFeet(q)
	if err != nil {
		return out, err
	}
	out.Sources = a.Sources
	out.line("By actual size", fmt.Sprintf("%.2f board feet, %.5f m³", a.BoardFeet, a.CubicMetres))
	out.line("Boards", fmt.Sprintf("%d of %s × %s × %s", a.Count, a.Thickness.Format(in.env.Length), a.Width.Format(in.env.Length), a.Length.Format(in.env.Length)))
	switch t := a.Softwood; {
	case t == nil:
		out.note("No dressed softwood size is near: count it by its actual size.")
	default:
		out.line("Softwood trade", fmt.Sprintf("%.2f board feet as nominal %s × %s", t.BoardFeet, t.NominalThickness.Format(wood.UnitInch), t.NominalWidth.Format(wood.UnitInch)))
		if t.Guessed {
			out.note("The nominal size is guessed from the measured one; hardwood is counted by surface measure instead.")
		}
	}
	return out, nil
}

func askOvenDry(in *deskInput) (out deskAnswer, err error) {
	q := wood.OvenDryQuestion{Wet: in.mass("wet"), Dry: in.mass("dry"), Sample: wood.Sample{Mass: in.mass("sample")}, Now: in.mass("now"),
		MC: in.percent("moisture"), WetBasis: in.percent("wet_basis")}
	for _, name := range []string{"section1", "section2"} {
		if p := in.percent(name); p != nil {
			q.Sample.SectionMC = append(q.Sample.SectionMC, *p)
		}
	}
	if len(in.faults) > 0 {
		return out, nil
	}
	a, err := wood.AskOvenDry(q)
	if err != nil {
		return out, err
	}
	out.Sources = a.Sources
	out.line("Moisture content", fmt.Sprintf("%.1f %% of oven-dry mass", a.MoisturePercent))
	out.line("Wet basis", fmt.Sprintf("%.1f %% of total mass", a.WetBasisPercent))
	switch a.Method {
	case "sample piece":
		out.line("Calculated oven-dry mass", bothMasses(a.OvenDryKg))
	case "oven-dry":
		out.note("Not for wood treated with creosote or oil: what boils off is counted as water.")
	}
	return out, nil
}

// bothLengths prints a length in inches and millimetres.
func bothLengths(l wood.Length) string {
	return fmt.Sprintf("%.3f in (%s), %s", l.Inches(), l.Format(wood.UnitInch), l.Format(wood.UnitMillimetre))
}

// bothTemperatures prints a temperature in both degrees.
func bothTemperatures(t wood.Celsius) string {
	return fmt.Sprintf("%.1f °C (%.1f °F)", float64(t), t.Fahrenheit())
}

// bothMasses prints a mass in kilograms and pounds.
func bothMasses(kg float64) string {
	return fmt.Sprintf("%.3f kg (%.2f lb)", kg, wood.Mass(kg).Pounds())
}
