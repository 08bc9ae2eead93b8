package moisture

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"math"
	"strconv"
	"strings"
	"sync"

	"skepwood/analytics/wood"
)

//go:embed data/airdrying.csv
var airDryingCSV string

// RatePrior is what is known about a stack's drying rate k before its own
// readings: ln k, k per day, is taken as normal.
type RatePrior struct {
	MeanLog float64
	SDLog   float64
	Source  string
	Status  string
	Note    string
}

// Days returns the time, in days, to lose all but a share of the way to
// equilibrium at the prior's median rate: ln(1/share)/k.
func (p RatePrior) Days(share float64) float64 { return -math.Log(share) / math.Exp(p.MeanLog) }

// check refuses a prior that is no distribution.
func (p RatePrior) check() error {
	if !finite(p.MeanLog) || p.MeanLog < -15 || p.MeanLog > 5 {
		return bad("prior mean of ln k", p.MeanLog, ErrSetting, "k is per day: about 0.02 for one-inch boards")
	}
	if !(p.SDLog > 0 && p.SDLog <= 3) {
		return bad("prior standard deviation of ln k", p.SDLog, ErrSetting, "give a number above 0, at most 3")
	}
	return nil
}

// PriorInput is what the rate prior is worked out from. The zero value is an
// unknown wood one inch thick.
type PriorInput struct {
	Species     string         // species id, "" unknown
	Guess       []SpeciesShare // averaged over when Species is ""
	ThicknessMM float64        // 0 means 25.4
}

// How a range of days becomes a rate: a board dries from greenMC to 20 % in air
// of airEMC. No source prints these two beside the table; they are our reading
// of it, so that every prior is "derived" from a table that is itself from
// memory.
const (
	greenMC = 70.0
	airEMC  = 12.0
	dryMC   = 20.0
)

// thicknessPower and its doubt: drying time goes with thickness to the power
// 1.5, between 1 (surface-limited) and 2 (diffusion), from memory; see
// data/airdrying.csv.
const thicknessPower, thicknessPowerSD = 1.5, 0.25

// tableQuantile takes the shortest and longest times of the table as an 80 %
// range: the standard normal quantile of 0.9. Our reading; the report only says
// that minima are for good weather and maxima for stacks put up too late.
const tableQuantile = 1.2815515655446004

const sourceAirDrying = "Rietz and Page 1971, Air drying of lumber (Agriculture Handbook 402), times for 1-inch boards, from memory; " +
	"rate taken from 70 to 20 % in air of 12 %"

// PriorFor returns the rate prior of a stack from its species and thickness:
// the published range of air-drying days of its own row, of its relatives', or
// of its group's.
func PriorFor(in PriorInput) (RatePrior, error) {
	thickness := in.ThicknessMM
	if thickness == 0 {
		thickness = 25.4
	}
	if !(thickness >= 1 && thickness <= 300) {
		return RatePrior{}, bad("thickness", thickness, ErrSetting, "give millimetres between 1 and 300")
	}
	p, err := oneInchPrior(in)
	if err != nil {
		return RatePrior{}, err
	}
	// In logarithms a power is a shift, and its doubt grows with distance from
	// the inch that the table is for.
	ratio := math.Log(thickness / 25.4)
	p.MeanLog -= thicknessPower * ratio
	p.SDLog = math.Hypot(p.SDLog, thicknessPowerSD*ratio)
	return p, nil
}

// oneInchPrior is the prior for boards one inch thick.
func oneInchPrior(in PriorInput) (RatePrior, error) {
	// A named species settles it; without name and guess any wood of the
	// table stands in, which is the widest prior.
	if in.Species != "" || len(in.Guess) == 0 {
		p, known := airPriors()[in.Species]
		if !known {
			return RatePrior{}, bad("species "+in.Species, 0, ErrSpecies, "leave the species empty when it is not in the table")
		}
		return p, nil
	}
	var total, sum, second float64
	for _, g := range in.Guess {
		p, known := airPriors()[g.ID]
		if !known {
			p = airPriors()[""]
		}
		total, sum = total+g.P, sum+g.P*p.MeanLog
		second += g.P * (square(p.MeanLog) + square(p.SDLog))
	}
	if !(total > 0) {
		return airPriors()[""], nil
	}
	// Mean and variance of the mixture; that it has two humps where oak and
	// pine are both likely is lost, and the wider spread stands for it.
	mean := sum / total
	return RatePrior{
		MeanLog: mean, SDLog: math.Sqrt(second/total - mean*mean), Source: sourceAirDrying,
		Status: StatusDerived, Note: "averaged over the species it may be",
	}, nil
}

// airTime is one row of the air-drying table.
type airTime struct{ shortest, longest float64 }

// airTable is the parsed table: times by species as printed, and the effective
// drying days of each month.
type airTable struct {
	times  map[string]airTime
	names  []string // in the table's order
	season [12]float64
}

var airTimes = sync.OnceValues(func() (airTable, error) { return parseAirTable(airDryingCSV) })

// parseAirTable reads the table; errors name the line.
func parseAirTable(text string) (airTable, error) {
	out := airTable{times: make(map[string]airTime)}
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return out, fmt.Errorf("air-drying table: %w", err)
	}
	months := 0
	for i, c := range records {
		switch c[0] {
		case "air_dry_time":
			short, long := number(c[5]), number(c[6])
			if !(short > 0 && long >= short) {
				return out, fmt.Errorf("air-drying table, line %d: days %q to %q", i+1, c[5], c[6])
			}
			out.times[c[1]] = airTime{short, long}
			out.names = append(out.names, c[1])
		case "season_days":
			days, err := strconv.ParseFloat(c[9], 64)
			if err != nil || months == 12 {
				return out, fmt.Errorf("air-drying table, line %d: effective days %q", i+1, c[9])
			}
			out.season[months] = days
			months++
		}
	}
	if len(out.names) == 0 || months != 12 {
		return out, fmt.Errorf("air-drying table: %d species and %d months", len(out.names), months)
	}
	return out, nil
}

// SeasonUpperMidwest returns the drying speed of each month relative to the
// year's mean for the Upper Midwest of the United States: effective drying
// days of Rietz 1972, A calendar for air drying lumber in the Upper Midwest
// (FPL-0224), from memory, over their mean. Other places differ; leave
// Climate.Rate empty rather than guess.
func SeasonUpperMidwest() [12]float64 {
	table, _ := airTimes() // compiled in, read through by a test
	var sum float64
	for _, d := range table.season {
		sum += d
	}
	out := table.season
	for m := range out {
		out[m] *= 12 / sum
	}
	return out
}

// airPriors holds the one-inch prior of every species, of the two groups and
// of any wood ("").
var airPriors = sync.OnceValue(func() map[string]RatePrior {
	table, _ := airTimes() // compiled in, read through by a test
	var soft, hard []string
	for _, name := range table.names {
		if softwoodTime(name) {
			soft = append(soft, name)
		} else {
			hard = append(hard, name)
		}
	}
	out := map[string]RatePrior{
		"":                    table.prior(table.names, "any wood of the table"),
		string(wood.Softwood): table.prior(soft, "all softwoods of the table"),
		string(wood.Hardwood): table.prior(hard, "all hardwoods of the table"),
	}
	all, _ := relatives()
	for id, r := range all {
		switch r.airRelation {
		case RelationOwn:
			out[id] = table.prior(r.airRows, "the table's own row")
		case RelationKin:
			out[id] = table.prior(r.airRows, "no row of its own: its nearest relatives stand in")
		default:
			p := out[string(r.group)]
			p.Note = "no row of its own: " + p.Note + " stand in"
			out[id] = p
		}
	}
	return out
})

func softwoodTime(name string) bool {
	for _, genus := range []string{"baldcypress", "Douglas-fir", "hemlock", "larch", "pine", "redwood", "spruce"} {
		if strings.HasPrefix(name, genus) {
			return true
		}
	}
	return false
}

// prior averages rows: the spread within each range and that between the rows.
func (t airTable) prior(rows []string, note string) RatePrior {
	fraction := math.Log((greenMC - airEMC) / (dryMC - airEMC))
	var sum, second float64
	for _, name := range rows {
		d := t.times[name]
		// The middle of the range on a logarithmic scale: 50 to 200 days has its
		// middle at 100.
		mean := math.Log(fraction) - (math.Log(d.shortest)+math.Log(d.longest))/2
		sd := math.Log(d.longest/d.shortest) / (2 * tableQuantile)
		sum, second = sum+mean, second+mean*mean+sd*sd
	}
	n := float64(len(rows))
	mean := sum / n
	return RatePrior{
		MeanLog: mean, SDLog: math.Sqrt(second/n - mean*mean),
		Source: sourceAirDrying, Status: StatusDerived, Note: note,
	}
}
