package screen

import (
	"fmt"
	"math/rand/v2"
	"time"

	"pgregory.net/rapid"
)

// markTexts are texts off the wood for random findings: complete, incomplete,
// worn, unknown, contradictory and foreign ones.
var markTexts = []string{
	"IPPC DE-NW-49-1234 / HT", "IPPC US-12345 / MB", "IPPC NL-123 / DH", "IPPC BR-123 / SF", "IPPC DE-123 / MB",
	"PL-12345 HT", "IPPC HT", "IPPC US-12345 / MT", "IPPC ?S-10?3 H?", "IPPC UK-123 HT", "HT MB", "KD-HT SPF",
	"IPPC CA-BC 0001 / HT DUN", "CP3", "UN 3359", "UN 1263", "PROPERTY OF EXAMPLE YARD", "☂☂", "", "CCA 0.40 UC4A", "pressure treated", "UNTREATED",
}

// tagTexts are texts off treatment tags.
var tagTexts = []string{"CCA", "UC4A", "PCP", "copper naphthenate", "unreadable", "Qzyvx", "KDAT", "anti-sapstain", "H3", "SBX"}

// today is the day random findings are judged on.
var today = time.Date(2026, time.May, 15, 12, 0, 0, 0, time.UTC)

// picker draws whole numbers below n: by rapid in properties, by a seeded
// generator in vectors and benchmarks.
type picker func(n int) int

func rapidPicker(t *rapid.T) picker {
	return func(n int) int { return rapid.IntRange(0, n-1).Draw(t, "pick") }
}

func seededPicker(seed uint64) picker {
	return rand.New(rand.NewPCG(seed, 1)).IntN
}

// places are where random findings lie.
var places = []string{"", OnLot, OnLot, OnLot, "B-1", "B-2"}

// notes are what random findings say; some say nothing.
var notes = []string{"T. Example, 3 May", "T. Example, 3 May", "T. Example, 3 May", "Лаб", "X1", ".", "-- x", "🪵🪵"}

// policy draws a house policy: often the default, else some settings, each at
// one of its bounds or between.
func (pick picker) policy() Policy {
	p := Policy{Settings: map[string]Verdict{}}
	settings := PolicySettings()
	for range pick(6) {
		s := settings[pick(len(settings))]
		p.Settings[s.ID] = s.Allowed[pick(len(s.Allowed))]
	}
	return p
}

// pickFindings draws up to most findings; later ones may be misreadings of
// earlier ones.
func (pick picker) findings(most int) []Finding {
	list := make([]Finding, 0, most)
	for range pick(most + 1) {
		list = append(list, pick.finding(list))
	}
	return list
}

func (pick picker) finding(before []Finding) Finding {
	kinds := tables().kinds
	k := kinds[pick(len(kinds))]
	f := Finding{ID: fmt.Sprintf("f%d", len(before)), Kind: k.Kind, On: places[pick(len(places))], Value: pick.value(&k, before)}
	if pick(4) > 0 {
		f.Note = notes[pick(len(notes))]
	}
	if pick(3) > 0 {
		f.At = today.AddDate(0, 0, -pick(25))
	}
	if pick(30) == 0 {
		f.At = today.AddDate(0, 0, 3)
	}
	if pick(40) == 0 {
		f.Kind = "aura"
	}
	f.Struck = pick(40) == 0
	return f
}

func (pick picker) value(k *KindInfo, before []Finding) string {
	switch {
	case k.Kind == kindMisreading && len(before) > 0:
		of := before[pick(len(before))]
		if pick(2) == 0 {
			return of.ID
		}
		return string(of.Kind) + "=" + of.Value
	case k.Kind == "mark":
		return markTexts[pick(len(markTexts))]
	case k.Kind == "tag":
		return tagTexts[pick(len(tagTexts))]
	case k.Number:
		return fmt.Sprint(8 + pick(20))
	case len(k.Values) == 0 || pick(60) == 0:
		return "violets"
	}
	return k.Values[pick(len(k.Values))].Value
}

// factsOf lists the facts of one finding alone, whether or not it may clear.
func factsOf(f Finding) []factID {
	h := &hearing{t: tables(), findings: []Finding{f}, imagined: imagined{from: 1}}
	h.hear()
	return h.list[0].facts
}

// liftsSomething reports whether the finding is a lifting one: it yields a fact
// some lift names, or records a misreading.
func liftsSomething(f Finding) bool {
	if f.Kind == kindMisreading {
		return true
	}
	for _, fact := range factsOf(f) {
		if tables().lifting.has(fact) {
			return true
		}
	}
	return false
}
