package moisture

import (
	"math"
	"slices"
	"strings"
	"sync"

	"skepwood/analytics/wood"
)

// Limits of resistance meters (limit_low and limit_high of the meter table,
// read in Wood handbook ch. 13): below 6 % the resistance is too high to
// measure, above fibre saturation it hardly changes.
const (
	LowLimit  = 6.0
	HighLimit = 30.0
)

// The grid on which the scales are tabulated once, so that a correction is an
// index and a multiplication.
const (
	scaleLow, scaleHigh = 2.0, 60.0
	scaleStep           = 0.1
	scaleNodes          = 581
)

// scale converts between the Douglas-fir scale of meters and true moisture for
// one species (or the species that stand in for it).
type scale struct {
	toTrue   [scaleNodes]float64 // true moisture at a Douglas-fir reading
	spread   [scaleNodes]float64 // standard deviation among the rows, % MC
	toScale  [scaleNodes]float64 // Douglas-fir reading at a true moisture
	rows     []string
	relation string
}

// at interpolates a tabulated function; beyond the grid it goes on straight.
func at(table *[scaleNodes]float64, x float64) float64 {
	u := (x - scaleLow) / scaleStep
	i := min(max(int(u), 0), scaleNodes-2)
	return table[i] + (u-float64(i))*(table[i+1]-table[i])
}

// scales holds the scale of every species, of the two groups ("softwood",
// "hardwood") and of any wood ("").
var scales = sync.OnceValue(buildScales)

func buildScales() map[string]*scale {
	rows := resistanceRows()
	reference := rows[referenceRow]
	// One scale for each row first; species, stand-ins and groups are means
	// of these.
	single := make(map[string]*scale, len(rows))
	var soft, hard, any []string
	for _, m := range speciesRows() {
		single[m] = singleScale(reference, rows[m], m)
		any = append(any, m)
		if softwoodRow(m) {
			soft = append(soft, m)
		} else {
			hard = append(hard, m)
		}
	}
	kin := kinSpread(single)
	out := map[string]*scale{
		"":                    meanScale(single, any, RelationGroup, kin),
		string(wood.Softwood): meanScale(single, soft, RelationGroup, kin),
		string(wood.Hardwood): meanScale(single, hard, RelationGroup, kin),
	}
	all, _ := relatives()
	for id, r := range all {
		// Groups share one table: it is large, and there are two of them.
		if r.meterRelation == RelationGroup {
			out[id] = out[string(r.group)]
			continue
		}
		out[id] = meanScale(single, r.meterRows, r.meterRelation, kin)
	}
	return out
}

// speciesRows lists the species of the resistance table in its order.
func speciesRows() []string {
	all, _ := meterRows()
	var names []string
	for _, m := range all {
		if m.Kind == "resistance" && !slices.Contains(names, m.Species) {
			names = append(names, m.Species)
		}
	}
	return names
}

func softwoodRow(name string) bool {
	for _, genus := range []string{"Douglas-fir", "Fir", "Hemlock", "Larch", "Pine", "Redwood", "Spruce"} {
		if strings.HasPrefix(name, genus) {
			return true
		}
	}
	return false
}

// singleScale tabulates one row against the reference row: the reading at true
// moisture m is the moisture at which Douglas-fir has the same resistance.
// Beyond the row's own percents the scale goes on with the slope of the
// least-squares line through it, because the outermost two points alone are too
// rough to extrapolate from.
func singleScale(reference, row resistanceRow, name string) *scale {
	s := &scale{rows: []string{name}, relation: RelationOwn}
	// Inside its own percents the row speaks, beyond them the line.
	first, last := row.mc[0], row.mc[len(row.mc)-1]
	slope := lineSlope(reference, row)
	reading := func(mc float64) float64 {
		inside := min(max(mc, first), last)
		return reference.mcAt(row.logAt(inside)) + slope*(mc-inside)
	}
	for i := range scaleNodes {
		s.toScale[i] = reading(scaleLow + scaleStep*float64(i))
	}
	// The inverse by walking both grids once: both ascend.
	j := 0
	for i := range scaleNodes {
		want := scaleLow + scaleStep*float64(i)
		for j < scaleNodes-2 && s.toScale[j+1] < want {
			j++
		}
		s.toTrue[i] = scaleLow + scaleStep*(float64(j)+(want-s.toScale[j])/(s.toScale[j+1]-s.toScale[j]))
	}
	return s
}

// lineSlope is the slope a of the least-squares line reading = a MC + b from
// 8 % to the wettest percent at which the Douglas-fir row still reads.
func lineSlope(reference, row resistanceRow) float64 {
	a, _ := speciesLine(reference, row)
	return a
}

// speciesLine fits reading = a MC + b over 8 to 24 %, the span of the derived
// lines of the meter table, leaving out readings beyond the Douglas-fir row.
func speciesLine(reference, row resistanceRow) (a, b float64) {
	var n, sx, sy, sxx, sxy float64
	top := reference.mc[len(reference.mc)-1]
	for i, mc := range row.mc {
		y := reference.mcAt(row.logR[i])
		// Below 8 % the rows scatter, and beyond the reference row's last percent
		// its own extrapolation would speak.
		if mc < 8 || mc > 24 || y > top {
			continue
		}
		n, sx, sy, sxx, sxy = n+1, sx+mc, sy+y, sxx+mc*mc, sxy+mc*y
	}
	a = (n*sxy - sx*sy) / (n*sxx - sx*sx)
	return a, (sy - a*sx) / n
}

// kinSpread is the standard deviation among the pines of the table at every
// reading: what may be expected of one species standing in for another of its
// genus. Pines are the only genus with enough rows to tell.
func kinSpread(single map[string]*scale) [scaleNodes]float64 {
	var pines []string
	for name := range single {
		if strings.HasPrefix(name, "Pine") {
			pines = append(pines, name)
		}
	}
	slices.Sort(pines)
	return meanScale(single, pines, RelationGroup, [scaleNodes]float64{}).spread
}

// meanScale averages rows; the spread is their standard deviation, or for
// stand-ins of the same genus at least that among the pines.
func meanScale(single map[string]*scale, names []string, relation string, kin [scaleNodes]float64) *scale {
	s := &scale{rows: names, relation: relation}
	n := float64(len(names))
	for i := range scaleNodes {
		var sum, square, back float64
		for _, name := range names {
			v := single[name].toTrue[i]
			sum, square, back = sum+v, square+v*v, back+single[name].toScale[i]
		}
		s.toTrue[i], s.toScale[i] = sum/n, back/n
		if n > 1 {
			s.spread[i] = math.Sqrt(max(0, (square-sum*sum/n)/(n-1)))
		}
		if relation == RelationKin {
			s.spread[i] = max(s.spread[i], kin[i])
		}
	}
	return s
}
