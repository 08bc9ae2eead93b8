package server

import (
	"fmt"
	"html/template"
	"math"
	"strconv"
	"strings"
	"time"

	"skepwood/analytics/screen"
	"skepwood/analytics/wood"
	"skepwood/analytics/yield"
	"skepwood/db"
)

// templateFuncs are the few things templates do themselves: printing values in
// the keeper's units.
func templateFuncs(assets *static) template.FuncMap {
	return template.FuncMap{
		"asset":    assets.url,
		"day":      dayText,
		"isoDay":   func(t time.Time) string { return t.Format(time.DateOnly) },
		"moment":   momentText,
		"size":     sizeText,
		"length":   func(env db.Env, l wood.Length) string { return l.Format(env.Length) },
		"volume":   volumeText,
		"volUnit":  volumeUnit,
		"road":     roadText,
		"roadUnit": func(env db.Env) string { return env.Distance },
		"percent":  percentText,
		"share":    func(v float64) string { return strconv.FormatFloat(math.Round(v*100), 'f', 0, 64) + " %" },
		"ratio":    func(a, b int) float64 { return float64(a) / float64(max(b, 1)) },
		"words":    func(code string) string { return strings.ReplaceAll(code, "_", " ") },
		"number":   func(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) },
		"verdict":  verdictWord,
		"dict":     dict,
		"add":      func(a, b int) int { return a + b },
		"subtract": func(a, b int) int { return a - b },
		"plural":   plural,
		"found": func(kind, value string) string {
			return findingWords(screen.Finding{Kind: screen.Kind(kind), Value: value})
		},
		"speciesName": speciesName,
		"known":       statusText,
		"tabled":      valueText,
		"money":       moneyText,
		"figure":      figureText,
		"volFigure":   volumeFigure,
		"minor":       func(v float64, currency string) string { return yield.FormatMinor(math.Round(v), currency) },
		"verdicts":    screen.Verdicts,
		"figureName": func(name string) string {
			for _, c := range db.Settings.Info()[0].Options {
				if c.Value == name {
					return c.Label
				}
			}
			return name
		},
	}
}

// sizeText prints thickness, width and length in one line, the unit once where
// all three print with the same one.
func sizeText(env db.Env, sides ...wood.Length) string {
	texts := make([]string, len(sides))
	for i, l := range sides {
		texts[i] = l.Format(env.Length)
	}
	last := texts[len(texts)-1]
	unit := last[strings.LastIndexByte(last, ' ')+1:]
	for i, t := range texts[:len(texts)-1] {
		if !strings.HasSuffix(t, " "+unit) {
			return strings.Join(texts, " × ")
		}
		texts[i] = strings.TrimSuffix(t, " "+unit)
	}
	return strings.Join(texts, " × ")
}

// speciesName is what people call the species that an entry names by its id.
func speciesName(id string) string {
	if s, err := wood.FindSpecies(id); err == nil {
		return s.CommonName
	}
	return id
}

// spokenValue shows the value of a closed list, or of the species table, as
// its form does; what is typed freely stays as typed.
func spokenValue(c db.ColumnInfo, value string) string {
	for _, o := range c.Options {
		if o.Value == value {
			return o.Label
		}
	}
	if c.Name == "species" {
		return speciesName(value)
	}
	return value
}

// momentText prints a moment in the keeper's zone.
func momentText(env db.Env, t time.Time) string {
	zone := env.Zone
	if zone == nil {
		zone = time.UTC
	}
	return t.In(zone).Format("2 Jan 2006 15:04")
}

// cubicMetresPerBoardFoot is 144 cubic inches, for showing volumes.
const cubicMetresPerBoardFoot = 144 * 0.0254 * 0.0254 * 0.0254

// volumeText prints a volume without its unit: board feet for keepers who
// work in inches, thousandths of a cubic metre (litres) otherwise.
func volumeText(env db.Env, m3 float64) string {
	if env.Length == wood.UnitMillimetre {
		return strconv.FormatFloat(m3*1000, 'f', 1, 64)
	}
	return strconv.FormatFloat(m3/cubicMetresPerBoardFoot, 'f', 1, 64)
}

func volumeUnit(env db.Env) string {
	if env.Length == wood.UnitMillimetre {
		return "litres"
	}
	return "board feet"
}

// roadText prints a distance in the keeper's unit, without it.
func roadText(env db.Env, m float64) string {
	if env.Distance == "km" {
		return strconv.FormatFloat(m/1000, 'f', 1, 64)
	}
	return strconv.FormatFloat(m/1609.344, 'f', 1, 64)
}

// percentText prints a moisture with its doubt, or what stands in its place.
func percentText(v, sd *float64) string {
	if v == nil {
		return "not measured"
	}
	if sd == nil {
		return strconv.FormatFloat(*v, 'f', 1, 64) + " %"
	}
	return fmt.Sprintf("%.1f ± %.1f %%", *v, *sd)
}

// verdictWords says what each verdict means in a few words.
var verdictWords = map[string]string{
	"inside":  "for parts bees live on",
	"outside": "only for parts bees and honey do not touch",
	"hold":    "do not cut until the doubt is settled",
	"never":   "not in a hive, not sawn, not burned",
}

func verdictWord(v string) string { return verdictWords[v] }

// dict builds the argument of a partial from pairs of name and value.
func dict(pairs ...any) (map[string]any, error) {
	if len(pairs)%2 != 0 {
		return nil, fmt.Errorf("dict wants pairs, got %d values", len(pairs))
	}
	out := make(map[string]any, len(pairs)/2)
	for i := 0; i < len(pairs); i += 2 {
		name, ok := pairs[i].(string)
		if !ok {
			return nil, fmt.Errorf("dict wants a name at %d, got %T", i, pairs[i])
		}
		out[name] = pairs[i+1]
	}
	return out, nil
}

// plural chooses between the words for one and for several.
func plural(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}

// moneyText prints minor units with their currency.
func moneyText(minor int64, currency string) string { return db.MoneyText(minor, currency) }

// volumeIn converts cubic metres to the unit that volumeUnit names.
func volumeIn(env db.Env, m3 float64) float64 {
	if env.Length == wood.UnitMillimetre {
		return m3 * 1000
	}
	return m3 / cubicMetresPerBoardFoot
}

// figureText prints a figure of money with its 90 % interval, never a bare
// mean: where the book cannot say how sure it is, it says so.
func figureText(f yield.Figure, currency string) string {
	value := yield.FormatMinor(math.Round(f.Value), currency)
	switch {
	case f.N == 0:
		return "—"
	case !f.Known:
		return value + " (" + unsure(f) + ")"
	default:
		return value + " (" + yield.FormatMinor(math.Round(f.Low), currency) + " to " + yield.FormatMinor(math.Round(f.High), currency) + ")"
	}
}

// unsure says in short why a figure has no interval.
func unsure(f yield.Figure) string {
	if f.N > 1 {
		return "all alike, which cannot say how sure"
	}
	return "too few to say how sure"
}

// volumeFigure prints a volume with its 90 % interval; no volume lies below
// nothing, so the interval is cut there.
func volumeFigure(env db.Env, f yield.Figure) string {
	value := volumeText(env, f.Value)
	switch {
	case f.N == 0:
		return "—"
	case !f.Known:
		return value + " (" + unsure(f) + ")"
	default:
		return value + " (" + volumeText(env, max(0, f.Low)) + " to " + volumeText(env, f.High) + ")"
	}
}
