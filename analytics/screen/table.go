package screen

import (
	"embed"
	"encoding/json"
	"fmt"
	"sync"

	"skepwood/analytics/mark"
)

//go:embed rules.json kinds.json checks.json cautions.json versions.json markfacts.json
var files embed.FS

// factID numbers a fact, so that sets of facts are a few machine words.
type factID uint16

// maxFacts bounds the facts of all tables; a test fails before it is reached.
const maxFacts = 512

// factSet is a set of facts.
type factSet [maxFacts / 64]uint64

func (s *factSet) add(f factID)      { s[f/64] |= 1 << (f % 64) }
func (s *factSet) has(f factID) bool { return s[f/64]&(1<<(f%64)) != 0 }

// meets reports whether the sets have a fact in common.
func (s *factSet) meets(other *factSet) bool {
	for i := range s {
		if s[i]&other[i] != 0 {
			return true
		}
	}
	return false
}

// tableSet is everything the embedded files say, in the form the judge reads.
// It is built once and never changed.
type tableSet struct {
	version     string
	versions    []RuleVersion
	rules       []Rule
	ruleByID    map[string]int
	compiled    []compiledRule
	always      []int           // rules without a clause
	firedBy     [maxFacts][]int // rules by a fact of their first clause
	kinds       []KindInfo
	kindByName  map[Kind]*kindTable
	marks       markFacts
	checks      []check
	cautions    []cautionRow
	factByName  map[string]factID
	factNames   []string
	lifting     factSet  // facts that some lift names
	unknownKind []factID // what a finding of an unknown kind yields
}

// compiledRule is a rule in numbers.
type compiledRule struct {
	more    []factSet // clauses after the first
	lifts   []compiledLift
	misread []compiledLift
}

// compiledLift is a lift in numbers; its place equals that in Rule.Lifts.
type compiledLift struct {
	clauses []factSet
	key     string // "S03/aired" when a keeper may set it, else empty
}

// kindTable is a kind in numbers.
type kindTable struct {
	info    *KindInfo
	values  map[string]*valueTable
	unknown []factID // what a value outside the table yields
	any     []factID // what a free text yields at least
	bands   [][]factID
	piece   bool
}

// valueTable is one value of a kind.
type valueTable struct {
	info  *ValueInfo
	facts []factID
	note  bool // a note is needed
}

// tables parses the embedded files once. They are part of the program, and a
// test loads them, so a fault in them cannot reach people; it panics here like
// a regexp.MustCompile of a constant.
var tables = sync.OnceValue(func() *tableSet {
	t, err := loadTables()
	if err != nil {
		panic("screen: embedded tables: " + err.Error())
	}
	return t
})

func loadTables() (*tableSet, error) {
	t := &tableSet{
		ruleByID:   map[string]int{},
		kindByName: map[Kind]*kindTable{},
		factByName: map[string]factID{},
	}
	for name, into := range map[string]any{
		"rules.json": &t.rules, "kinds.json": &t.kinds, "checks.json": &t.checks,
		"cautions.json": &t.cautions, "versions.json": &t.versions,
	} {
		if err := readTable(name, into); err != nil {
			return nil, err
		}
	}
	if len(t.versions) == 0 {
		return nil, fmt.Errorf("versions.json: no version")
	}
	t.version = t.versions[len(t.versions)-1].Version + "+" + mark.Document().Version
	t.unknownKind = t.factIDs([]string{"unknown=kind"})
	t.compileMarkFacts()
	t.compileKinds()
	t.compileRules()
	t.compileCautions()
	t.compileChecks()
	if len(t.factNames) > maxFacts {
		return nil, fmt.Errorf("%d facts, at most %d", len(t.factNames), maxFacts)
	}
	return t, nil
}

// readTable refuses unknown fields, so that a misspelt one cannot silently
// switch a rule off.
func readTable(name string, into any) error {
	f, err := files.Open(name)
	if err != nil {
		return err
	}
	defer f.Close()
	d := json.NewDecoder(f)
	d.DisallowUnknownFields()
	if err := d.Decode(into); err != nil {
		return fmt.Errorf("%s: %w", name, err)
	}
	return nil
}

// fact returns the number of a named fact, giving it one at first sight.
func (t *tableSet) fact(name string) factID {
	id, ok := t.factByName[name]
	if !ok {
		id = factID(len(t.factNames))
		t.factByName[name] = id
		t.factNames = append(t.factNames, name)
	}
	return id
}

func (t *tableSet) factIDs(names []string) []factID {
	ids := make([]factID, len(names))
	for i, n := range names {
		ids[i] = t.fact(n)
	}
	return ids
}

func (t *tableSet) clauses(when [][]string) []factSet {
	sets := make([]factSet, len(when))
	for i, clause := range when {
		for _, name := range clause {
			sets[i].add(t.fact(name))
		}
	}
	return sets
}

func (t *tableSet) compileKinds() {
	for i := range t.kinds {
		info := &t.kinds[i]
		k := &kindTable{info: info, values: map[string]*valueTable{}, piece: info.Reach == "piece"}
		for j := range info.Values {
			v := &info.Values[j]
			k.values[normalise(v.Value)] = &valueTable{
				info:  v,
				facts: append(t.factIDs([]string{string(info.Kind) + "=" + v.Value}), t.factIDs(v.Facts)...),
				note:  v.NoteLabel != "" || info.NoteLabel != "",
			}
		}
		for _, b := range info.Bands {
			k.bands = append(k.bands, t.factIDs(b.Facts))
		}
		k.unknown = t.factIDs([]string{string(info.Kind) + "=?", "unknown=value"})
		k.any = t.factIDs([]string{string(info.Kind) + "=?"})
		t.kindByName[info.Kind] = k
	}
}

func (t *tableSet) compileRules() {
	t.compiled = make([]compiledRule, len(t.rules))
	for i := range t.rules {
		r, c := &t.rules[i], &t.compiled[i]
		t.ruleByID[r.ID] = i
		if len(r.When) == 0 {
			t.always = append(t.always, i)
		} else {
			c.more = t.clauses(r.When[1:])
			for _, f := range t.factIDs(r.When[0]) {
				t.firedBy[f] = append(t.firedBy[f], i)
			}
		}
		for _, l := range r.Lifts {
			lift := compiledLift{clauses: t.clauses(l.When)}
			if len(l.Allowed) > 0 {
				lift.key = r.ID + "/" + l.ID
			}
			c.lifts = append(c.lifts, lift)
			t.noteLifting(lift.clauses)
		}
		if r.Misread == nil {
			continue
		}
		for _, s := range r.Misread.Steps {
			step := compiledLift{clauses: t.clauses(s.When)}
			c.misread = append(c.misread, step)
			t.noteLifting(step.clauses)
		}
	}
}

func (t *tableSet) noteLifting(clauses []factSet) {
	for _, c := range clauses {
		for i := range c {
			t.lifting[i] |= c[i]
		}
	}
}
