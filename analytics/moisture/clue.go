package moisture

import (
	"slices"
	"strings"
	"sync"

	"skepwood/analytics/wood"
)

// ClueKind is something to look at or smell.
type ClueKind string

// The clues, in the order in which they are easily looked at.
const (
	ClueColour   ClueKind = "colour"   // of the heartwood on a fresh cut
	CluePores    ClueKind = "pores"    // on a clean end grain
	ClueCanals   ClueKind = "canals"   // resin canals on the end grain
	ClueOdour    ClueKind = "odour"    // of a fresh cut
	ClueRays     ClueKind = "rays"     // bright flecks on a quartered face
	ClueLatewood ClueKind = "latewood" // how the light and dark part of a ring meet
)

// Clue is one observed clue with its answer.
type Clue struct {
	Kind   ClueKind
	Answer string
}

// ClueQuestion is a clue as it is asked: its answers, and how often a person
// answers wrongly.
type ClueQuestion struct {
	Kind    ClueKind
	Ask     string
	Answers []string
	// Leak is the share of answers that have nothing to do with the table: the
	// eye errs, sapwood is taken for heartwood, old wood has no smell left.
	// Common practice, no source.
	Leak float64
}

// ClueQuestions lists the clues with their answers.
func ClueQuestions() []ClueQuestion { return slices.Clone(clueQuestions()) }

var clueQuestions = sync.OnceValue(func() []ClueQuestion {
	return []ClueQuestion{
		{ClueColour, "Shave a corner: what colour is the heartwood?", []string{"white", "yellow", "brown", "red", "grey", "green"}, 0.20},
		{CluePores, "Cut the end grain clean: are there pores?", []string{"none", "diffuse", "ring"}, 0.06},
		{ClueCanals, "On the same end grain: are there resin canals, small dots in the dark part of the rings?", []string{"yes", "no"}, 0.15},
		{ClueOdour, "Smell the fresh cut: what is it like?", []string{"none", "resin", "cedar", "sour", "musty"}, 0.20},
		{ClueRays, "Look for bright flecks or broad lines across the grain: are there any?", []string{"yes", "no"}, 0.20},
		{ClueLatewood, "Where light and dark part of a ring meet, is the edge sharp?", []string{"sharp", "soft"}, 0.25},
	}
})

// questionOf returns the index of the question of a kind, -1 when there is
// none.
func questionOf(kind ClueKind) int {
	return slices.IndexFunc(clueQuestions(), func(q ClueQuestion) bool { return q.Kind == kind })
}

// Expected returns the answers that the species table's words lead to expect
// for a species, empty when they say nothing about the clue or there is no such
// species. The words are the table's; sorting them into answers is ours.
func Expected(species string, kind ClueKind) []string { return expectations()[species][kind] }

var expectations = sync.OnceValue(func() map[string]map[ClueKind][]string {
	out := make(map[string]map[ClueKind][]string)
	for _, s := range wood.AllSpecies() {
		out[s.ID] = map[ClueKind][]string{
			ClueColour:   coloursIn(s.HeartwoodColour),
			CluePores:    poresOf(s),
			ClueCanals:   {yesNo(s.ResinCanals)},
			ClueOdour:    odoursIn(s.Odour),
			ClueRays:     raysOf(s),
			ClueLatewood: latewoodOf(s),
		}
	}
	return out
})

// colourWords sorts the table's colour words into answers.
var colourWords = []struct{ word, answer string }{
	{"white", "white"}, {"cream", "white"}, {"buff", "yellow"}, {"pale yellow", "yellow"}, {"yellow", "yellow"},
	{"light coloured", "white"}, {"brown", "brown"}, {"russet", "red"}, {"red", "red"}, {"pink", "red"}, {"cherry", "red"},
	{"orange", "red"}, {"purpl", "red"}, {"grey", "grey"}, {"green", "green"}, {"olive", "green"},
}

// coloursIn finds the colours of the heartwood in a description; what it says
// about sapwood, and comparisons with other woods, are left out.
func coloursIn(text string) []string {
	var kept []string
	// The table describes in phrases; each is kept or left out whole.
	for _, part := range strings.FieldsFunc(text, func(r rune) bool { return r == ',' || r == ';' || r == '(' }) {
		if !strings.Contains(part, "sapwood") {
			kept = append(kept, strings.ReplaceAll(part, "than white ash", ""))
		}
	}
	return matches(strings.Join(kept, " "), colourWords)
}

var odourWords = []struct{ word, answer string }{
	{"none", "none"}, {"resin", "resin"}, {"turpentine", "resin"}, {"cedar", "cedar"}, {"aromatic", "cedar"},
	{"sour", "sour"}, {"rancid", "sour"}, {"tannic", "sour"}, {"musty", "musty"},
}

// odoursIn adds "none" to an odour that only fresh wood has, because packaging
// seldom is.
func odoursIn(text string) []string {
	out := matches(text, odourWords)
	// Old crates have lost most of what a fresh cut smells of.
	if (strings.Contains(text, "fresh") || strings.Contains(text, "wet") || strings.Contains(text, "mild")) && !slices.Contains(out, "none") {
		out = append(out, "none")
	}
	return out
}

func matches(text string, words []struct{ word, answer string }) []string {
	var out []string
	for _, w := range words {
		if strings.Contains(text, w.word) && !slices.Contains(out, w.answer) {
			out = append(out, w.answer)
		}
	}
	return out
}

func poresOf(s wood.Species) []string {
	if s.Pores == "" {
		return nil
	}
	return []string{s.Pores}
}

// raysOf is "yes" where the description mentions rays. Of other hardwoods it
// only fails to mention them, which says little; conifers have none to see.
func raysOf(s wood.Species) []string {
	switch {
	case strings.Contains(s.HeartwoodColour, "short rays"):
		return []string{"yes", "no"}
	case strings.Contains(s.HeartwoodColour, "ray"):
		return []string{"yes"}
	}
	return []string{"no"}
}

// latewoodOf is for conifers; hardwoods have no such edge.
func latewoodOf(s wood.Species) []string {
	switch {
	case s.Group != wood.Softwood:
		return nil
	case strings.Contains(s.HeartwoodColour, "contrast") || strings.Contains(s.HeartwoodColour, "abrupt"):
		return []string{"sharp"}
	}
	return []string{"soft"}
}

func yesNo(b bool) string {
	if b {
		return "yes"
	}
	return "no"
}
