package moisture

import (
	_ "embed"
	"encoding/csv"
	"fmt"
	"strings"
	"sync"
)

//go:embed data/targets.csv
var targetsCSV string

// Target is the moisture wood should have before it is built in: percent, as an
// average of the stack and as a span for single pieces.
type Target struct {
	Zone    string // "inside" or "outside" the hive
	Season  string // "summer", "winter" or "any": when it goes into use
	Climate string // "usual" or "dry"
	// Average is for the stack's mean, Low to High for every piece.
	Average, Low, High float64
	Source, Status     string
	Note               string
}

// Mean is the largest mean of a stack's corrected readings that counts as the
// target reached: the average plus the meter's published accuracy on a lot, 1 %
// (Wood handbook ch. 13). Ready and the ready dates both go by it.
func (t Target) Mean() float64 { return t.Average + lotAccuracy }

var targets = sync.OnceValues(func() ([]Target, error) { return parseTargets(targetsCSV) })

// parseTargets reads the table; errors name the line.
func parseTargets(text string) ([]Target, error) {
	records, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	if err != nil {
		return nil, fmt.Errorf("target table: %w", err)
	}
	var out []Target
	for i, c := range records {
		if i == 0 {
			continue
		}
		t := Target{c[0], c[1], c[2], number(c[3]), number(c[4]), number(c[5]), c[6], c[7], c[8]}
		if !(t.Low > 0 && t.Low < t.Average && t.Average < t.High && t.High < HighLimit) {
			return nil, fmt.Errorf("target table, line %d: %g, %g, %g are not a span", i+1, t.Low, t.Average, t.High)
		}
		out = append(out, t)
	}
	return out, nil
}

// Targets returns every target, for showing with its source.
func Targets() []Target {
	all, _ := targets() // compiled in, read through by a test
	return append([]Target(nil), all...)
}

// TargetFor returns the target of a zone ("inside", "outside"), a season
// ("summer", "winter", "" for any) and a climate ("usual", "dry", "" for
// usual). Where a season is not told apart, the zone's target for any season
// serves; where no season is given, the driest. What is not in the table is
// ErrSetting.
func TargetFor(zone, season, climate string) (Target, error) {
	if climate == "" {
		climate = "usual"
	}
	all, _ := targets()
	var best *Target
	for i := range all {
		t := &all[i]
		if t.Zone != zone || t.Climate != climate {
			continue
		}
		if t.Season != season && t.Season != "any" && season != "" {
			continue
		}
		if best == nil || t.High < best.High {
			best = t
		}
	}
	if best == nil || season != "" && season != "summer" && season != "winter" && season != "any" {
		return Target{}, fmt.Errorf("target for zone %q, season %q, climate %q: %w: use inside or outside, summer or winter, usual or dry",
			zone, season, climate, ErrSetting)
	}
	return *best, nil
}
