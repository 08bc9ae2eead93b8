package demo

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"sort"
	"strconv"
	"strings"
	"time"

	"skepwood/db"
)

// The size and shape of the log.
const (
	// days is fourteen months.
	days = 425
	// springDay is when the garden centre went bad.
	springDay = 300
	// wantReadings is spread over the boards that lie in stacks.
	wantReadings = 2500
)

// source is the generator's chance; one seed gives one log.
type source struct{ *rand.Rand }

func (r *source) pick(choices ...string) string { return choices[r.IntN(len(choices))] }

func (r *source) size(choices []float64) float64 { return choices[r.IntN(len(choices))] }

// generator writes the sheets of the log.
type generator struct {
	*source
	today  time.Time
	start  time.Time
	sheets map[string]*sheet
	lotNo  int
	boards []stacked
	// read counts the readings written.
	read int
	// piles are the stacks with at least one board, by name.
	piles map[string]pile
}

// sheet collects the rows of one file.
type sheet struct {
	rows [][]string
}

// stacked is a board whose readings are still to be written.
type stacked struct {
	label      string
	day        int
	wet        bool
	from       float64
	rate       float64
	stackedDay int
}

// Sheets returns the log as the sheets that the book imports.
func Sheets(today time.Time, seed uint64) []db.Sheet {
	today = today.UTC().Truncate(24 * time.Hour)
	g := &generator{source: &source{rand.New(rand.NewPCG(seed, 20))}, today: today, start: today.AddDate(0, 0, -days), sheets: make(map[string]*sheet), piles: make(map[string]pile)}
	g.head("sources", "name", "kind", "cargo", "contact", "phone", "permission", "hours", "place", "distance", "latitude", "longitude")
	g.head("pickups", "source", "day", "distance", "minutes", "currency", "cost", "empty", "notes")
	g.head("lots", "label", "pickup", "kind", "count", "place", "volume", "usable_percent", "broken", "dismantle_minutes")
	g.head("stacks", "name", "place", "cover", "stickered", "taken_down", "target", "air_temperature", "air_humidity")
	g.head("climates", "place", "month", "temperature", "humidity", "first_day", "last_day", "days", "moisture", "source", "notes")
	g.head("moves", "stack", "day", "place", "cover", "note")
	g.head("boards", "label", "lot", "thickness", "width", "length", "species", "place", "metal", "stack", "layer", "species_guess")
	g.head("findings", "lot", "board", "kind", "value", "note", "seen")
	g.head("defects", "board", "kind", "face", "x", "y", "dx", "dy")
	g.head("readings", "board", "taken", "raw", "temperature", "place", "method", "mass", "dry_mass")
	for _, d := range g.drives() {
		g.drive(d)
	}
	g.readings()
	g.stacks()
	g.air()
	return g.files()
}

func (g *generator) head(name string, columns ...string) {
	g.sheets[name] = &sheet{[][]string{append([]string{"entered"}, columns...)}}
}

// row writes an entry as one made at that moment, so that the Book reads like
// a log kept over a year and not like one import.
func (g *generator) row(name string, entered time.Time, cells ...string) {
	s := g.sheets[name]
	s.rows = append(s.rows, append([]string{entered.Format(time.RFC3339)}, cells...))
}

// evening is when the club writes: one kind of entry after the other at the
// kitchen table.
func (g *generator) evening(day, minute int) time.Time {
	at := g.start.AddDate(0, 0, min(day, days-1))
	return at.Add(18*time.Hour + time.Duration(minute)*time.Minute)
}

// drive is one trip of the log: which place, which day of the log.
type drive struct {
	place *place
	day   int
}

// drives spreads each place's pickups over the log, oldest first.
func (g *generator) drives() []drive {
	var out []drive
	for i := range places {
		p := &places[i]
		g.row("sources", g.evening(0, i), p.name, p.kind, p.cargo, p.contact, fmt.Sprintf("555 01%02d", i+10), "yes, by the "+strings.TrimPrefix(p.contact, "the "), p.hours, "loading dock", mi(p.miles), degrees(p.lat(i)), degrees(p.lon(i)))
		used := make(map[int]bool)
		for n := range p.pickups {
			day := (n*days)/p.pickups + g.IntN(days/p.pickups)
			for used[day] {
				day++
			}
			used[day] = true
			out = append(out, drive{p, min(day, days-1)})
		}
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].day < out[j].day })
	return out
}

func mi(v float64) string { return num(v, 1) + " mi" }

func num(v float64, digits int) string { return strconv.FormatFloat(v, 'f', digits, 64) }

func inches(v float64) string { return num(v, 4) + " in" }

func (g *generator) date(day int) string { return g.start.AddDate(0, 0, day).Format(time.DateOnly) }

// drive writes one pickup with its lots.
func (g *generator) drive(d drive) {
	p := d.place
	empty := g.Float64() < p.empty
	miles, minutes := p.miles*(0.95+0.1*g.Float64()), p.minutes*(0.8+0.4*g.Float64())
	yes := "no"
	if empty {
		yes, minutes = "yes", minutes*0.6
	}
	g.row("pickups", g.evening(d.day, 0), p.name, g.date(d.day), mi(miles), num(minutes, 0), "USD", num(p.cost, 2), yes, "")
	if empty {
		return
	}
	lots := max(1, int(math.Round(p.lots*math.Exp(0.35*g.NormFloat64()))))
	for range lots {
		g.lot(d)
	}
}

// lot writes one lot with its findings and, two times in three, its boards.
func (g *generator) lot(d drive) {
	p := d.place
	n := g.lotNo
	g.lotNo++
	label := fmt.Sprintf("NB-%03d", n+1)
	measured := g.Float64() < 0.82
	boards := max(2, int(math.Round(p.boards*math.Exp(0.3*g.NormFloat64()))))
	volume, share, broken, minutes := "", "", "0", "0"
	if !measured {
		volume = num(float64(boards)*1.9, 1) + " bf"
		share = num(45+g.Float64()*25, 0)
	} else {
		broken, minutes = strconv.Itoa(g.IntN(3)), num(12+25*g.Float64(), 0)
	}
	place := g.pick("lean-to", "shed", "under the stairs")
	g.row("lots", g.evening(d.day, 5), label, g.date(d.day)+" "+p.name, p.unit, strconv.Itoa(1+g.IntN(3)), place, volume, share, broken, minutes)
	for _, f := range p.findings(g.source, n, d.day) {
		g.row("findings", g.evening(d.day, 10), label, "", f[0], f[1], f[2], g.date(d.day))
	}
	if !measured {
		return
	}
	for i := range boards {
		g.board(d, label, i)
	}
	if p.name == "Copperfen Electric" && d.day > 150 && !g.treated() {
		board := fmt.Sprintf("%s/%d", label, 1)
		g.row("findings", g.evening(d.day+2, 30), label, board, "tag", "CCA", "one board is not like the others: end tag", g.date(d.day+2))
		g.row("findings", g.evening(d.day+2, 30), label, board, "origin", "deck", "", g.date(d.day+2))
	}
}

// treated reports whether the one treated deck board is in the log already.
func (g *generator) treated() bool {
	for _, r := range g.sheets["findings"].rows {
		if r[3] == "tag" {
			return true
		}
	}
	return false
}

// board writes one board with its nail rows and other defects.
func (g *generator) board(d drive, lot string, i int) {
	p := d.place
	label := fmt.Sprintf("%s/%d", lot, i+1)
	thick, wide, long := g.size(p.thick), g.size(p.wide), g.size(p.long)
	long -= float64(g.IntN(8)) / 4
	place := g.pick("rack 1", "rack 2", "rack 3", "stack A", "stack B")
	wet := g.start.AddDate(0, 0, d.day).Month() == time.December && d.day < 366 // the first December, whenever the log begins
	if wet {
		place = "winter stack"
	}
	pile, layer, guess := g.pile(place, d.day), "", ""
	if pile != "" {
		layer = strconv.Itoa(1 + len(g.boards)%7)
	}
	if p.name == "Larkspindle Hardware" && i%2 == 0 {
		guess = guessed
	}
	g.row("boards", g.evening(d.day, 90), label, lot, inches(thick), inches(wide), inches(long), p.species, place, g.pick("clean", "clean", "not_swept", "found"), pile, layer, guess)
	for _, x := range []float64{1.5, long/2 - 0.25, long - 2} {
		for _, y := range []float64{0.75, wide - 1.25} {
			if g.Float64() < 0.75 {
				g.row("defects", g.evening(d.day, 95), label, "nail_hole", "both", inches(x), inches(y), "0.375 in", "0.375 in")
			}
		}
	}
	if g.Float64() < 0.3 {
		g.row("defects", g.evening(d.day, 95), label, "knot", g.pick("top", "bottom", "both"), inches(4+g.Float64()*(long-8)), inches(g.Float64()*(wide-1.5)), "1 in", "0.875 in")
	}
	if g.Float64() < 0.18 {
		g.row("defects", g.evening(d.day, 95), label, "split", "both", "0 in", inches(wide/2), inches(3+5*g.Float64()), "0.25 in")
	}
	from := 14 + 8*g.Float64()
	if wet {
		from = 30
	}
	g.boards = append(g.boards, stacked{label: label, day: d.day, wet: wet, from: from, rate: 0.02 + 0.04*g.Float64(), stackedDay: d.day + 3})
}

// readings follows about every other board as it dries.
func (g *generator) readings() {
	for n := 0; n < wantReadings; {
		progressed := false
		for i := range g.boards {
			if n >= wantReadings {
				break
			}
			if g.reading(&g.boards[i]) {
				n++
				progressed = true
			}
		}
		if !progressed {
			return
		}
	}
}

// reading writes the board's next reading, a fortnight or so after the last.
func (g *generator) reading(b *stacked) bool {
	day := b.day + 5 + g.IntN(16)
	if day >= days {
		return false
	}
	b.day = day
	towards := 11.0
	if b.wet {
		towards = 16
	}
	truth := towards + (b.from-towards)*math.Exp(-b.rate*float64(day-b.stackedDay))
	temp := 10 - 12*math.Cos(2*math.Pi*float64(g.start.AddDate(0, 0, day).YearDay()-15)/365)
	raw := math.Max(5, truth+0.7*g.NormFloat64())
	at := g.start.AddDate(0, 0, day).Add(time.Duration(16*60+g.IntN(120)) * time.Minute)
	spot := g.pick("middle", "end", "middle")
	if g.read++; g.read%250 == 0 { // now and then a piece is cut off and dried in the kitchen oven
		wet, dry := dried(truth)
		g.row("readings", at, b.label, at.Format("2006-01-02T15:04:05Z"), "", "", "end", "ovendry", wet, dry)
		return true
	}
	g.row("readings", at, b.label, at.Format("2006-01-02T15:04:05Z"), num(raw, 1), num(temp, 0)+" C", spot, "pin", "", "")
	return true
}

// files turns the collected rows into sheets to read.
func (g *generator) files() []db.Sheet {
	var out []db.Sheet
	for name, s := range g.sheets {
		var text bytes.Buffer
		w := csv.NewWriter(&text)
		_ = w.WriteAll(s.rows) // a buffer takes everything
		data := text.Bytes()
		out = append(out, db.Sheet{Name: name + ".csv", Size: int64(len(data)), Open: func() (io.ReadCloser, error) {
			return io.NopCloser(bytes.NewReader(data)), nil
		}})
	}
	sort.Slice(out, func(i, j int) bool { return out[i].Name < out[j].Name })
	return out
}
