package mark

import (
	"crypto/sha256"
	"embed"
	"encoding/csv"
	"encoding/hex"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"
	"sync"
	"time"
)

//go:embed algorithm.txt codes.csv countries.csv fold.csv lookalikes.csv preservatives.csv withdrawals.csv
var files embed.FS

// tableSet is the embedded tables, parsed once and never changed after.
type tableSet struct {
	version   string
	fold      []FoldRule
	alike     []LookAlike
	rows      []*row
	exact     map[string]*row // by writing, for writings without wildcards
	wild      []wildForm
	countries []Country
	byCode    map[string]int // index into countries
	preserved []Preservative
	pres      map[string]int // index into preserved, by alias
	withdrawn map[string]withdrawalRow
	widest    int // length of the longest writing
	algorithm []string
}

// row is one line of codes.csv: a code, its writings and what it sets.
type row struct {
	Form
	rank int // place in the table; the earlier of two rivals wins
	sets []assignment
}

type assignment struct{ field, value string }

type wildForm struct {
	pattern string
	row     *row
}

type withdrawalRow struct {
	date   time.Time
	source string
}

// tables parses the embedded tables. They are part of the program and the tests
// read all of them, so a fault in them is a fault of the build and panics here,
// never on what a person typed.
var tables = sync.OnceValue(func() *tableSet {
	t := &tableSet{
		exact: map[string]*row{}, byCode: map[string]int{},
		pres: map[string]int{}, withdrawn: map[string]withdrawalRow{},
	}
	sum := sha256.New()
	for _, load := range []struct {
		name string
		line func(rec record)
	}{
		{"fold.csv", t.addFold}, {"lookalikes.csv", t.addLookAlike}, {"codes.csv", t.addCode},
		{"countries.csv", t.addCountry}, {"preservatives.csv", t.addPreservative},
		{"withdrawals.csv", t.addWithdrawal},
	} {
		text, err := fs.ReadFile(files, load.name)
		must(err)
		sum.Write(text)
		for _, rec := range records(load.name, string(text)) {
			load.line(rec)
		}
	}
	steps, err := fs.ReadFile(files, "algorithm.txt")
	must(err)
	sum.Write(steps)
	t.algorithm = strings.Split(strings.TrimSpace(string(steps)), "\n")
	slices.SortFunc(t.fold, func(a, b FoldRule) int { return int(a.First) - int(b.First) })
	t.version = hex.EncodeToString(sum.Sum(nil))[:12]
	return t
})

// record is one line of a table by column name.
type record struct {
	at     string
	fields map[string]string
}

// get is the value of a column, which the table must have.
func (r record) get(name string) string {
	v, ok := r.fields[name]
	if !ok {
		panic("mark: embedded tables: " + r.at + " lacks column " + name)
	}
	return v
}

// records reads a table with a header line.
func records(name, text string) []record {
	all, err := csv.NewReader(strings.NewReader(text)).ReadAll()
	must(err)
	out := make([]record, 0, len(all)-1)
	for i, line := range all[1:] {
		fields := make(map[string]string, len(line))
		for j, value := range line {
			fields[all[0][j]] = value
		}
		out = append(out, record{at: fmt.Sprintf("%s line %d", name, i+2), fields: fields})
	}
	return out
}

// must stops a program that was built with a broken table.
func must(err error) {
	if err != nil {
		panic("mark: embedded tables: " + err.Error())
	}
}

// addFold takes one range of characters; some signs have names in the table,
// since spreadsheets lose lone spaces.
func (t *tableSet) addFold(rec record) {
	hexRune := func(name string) rune {
		n, err := strconv.ParseInt(rec.get(name), 16, 32)
		must(err)
		return rune(n)
	}
	shift, err := strconv.Atoi(rec.get("shift"))
	must(err)
	to := rec.get("to")
	switch to {
	case "space":
		to = " "
	case "newline":
		to = "\n"
	case "drop":
		to = ""
	}
	t.fold = append(t.fold, FoldRule{First: hexRune("first"), Last: hexRune("last"), To: to, Shift: shift})
}

// addLookAlike takes one pair of signs.
func (t *tableSet) addLookAlike(rec record) {
	t.alike = append(t.alike, LookAlike{
		A: rec.get("a"), B: rec.get("b"), Treatment: rec.get("scope") == "treatment",
		Edge: rec.get("edge") == "yes", Source: rec.get("source"),
	})
}

// addCode takes one code. No two codes may share a writing: the reading would
// hang on the order of the table.
func (t *tableSet) addCode(rec record) {
	r := &row{Form: Form{
		Code: Code{
			Text: rec.get("code"), Meaning: rec.get("meaning"), Source: rec.get("source"),
			Status: rec.get("status"), Class: Class(rec.get("class")),
		},
		Forms: strings.Fields(rec.get("forms")), Sets: strings.Fields(rec.get("sets")), Takes: rec.get("takes"),
	}, rank: len(t.rows)}
	for _, set := range r.Sets {
		field, value, _ := strings.Cut(set, "=")
		r.sets = append(r.sets, assignment{field, strings.ReplaceAll(value, "_", " ")})
	}
	t.rows = append(t.rows, r)
	for _, form := range r.Forms {
		t.widest = max(t.widest, len(form))
		if strings.ContainsAny(form, "#@") {
			t.wild = append(t.wild, wildForm{form, r})
			continue
		}
		if old := t.exact[form]; old != nil {
			panic("mark: embedded tables: " + rec.at + ": " + form + " is already " + old.Code.Text)
		}
		t.exact[form] = r
	}
}

// addCountry takes one two-letter code; the tables have each once.
func (t *tableSet) addCountry(rec record) {
	t.byCode[rec.get("code")] = len(t.countries)
	t.countries = append(t.countries, Country{
		Code: rec.get("code"), Name: rec.get("name"), Region: rec.get("region"),
		Status: CountryStatus(rec.get("status")), EU: rec.get("eu") == "yes", Until: rec.get("until"),
		Note: rec.get("note"), Standing: rec.get("standing"), Source: rec.get("source"),
	})
}

// addPreservative takes the aliases from codes.csv, which is loaded before, so
// that a writing is known to Read and to PreservativeByCode alike.
func (t *tableSet) addPreservative(rec record) {
	p := Preservative{
		Kind: rec.get("kind"), Code: rec.get("code"), Name: rec.get("name"), What: rec.get("what"),
		WhereMet: rec.get("where_met"), UseCategory: rec.get("use_category"), Clues: rec.get("clues"),
		Hazard: rec.get("hazard"), Machining: rec.get("machining"), Verdict: rec.get("verdict"),
		Status: rec.get("status"), Source: rec.get("source"), Aliases: []string{},
	}
	t.pres[squeeze(p.Code)] = len(t.preserved)
	for _, r := range t.rows {
		if r.Code.Text == p.Code && (r.Code.Class == ClassPreservative || r.Code.Class == ClassUseCategory) {
			p.Aliases = append(p.Aliases, r.Forms...)
			for _, alias := range r.Forms {
				t.pres[alias] = len(t.preserved)
			}
		}
	}
	t.preserved = append(t.preserved, p)
}

// addWithdrawal takes one country that gave up methyl bromide.
func (t *tableSet) addWithdrawal(rec record) {
	date, err := time.Parse(time.DateOnly, rec.get("date"))
	must(err)
	t.withdrawn[rec.get("country")] = withdrawalRow{date, rec.get("source") + ". " + rec.get("status")}
}

// squeeze is the writing of a code without separators, in capitals.
func squeeze(code string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case 'a' <= r && r <= 'z':
			return r - 'a' + 'A'
		case 'A' <= r && r <= 'Z', '0' <= r && r <= '9':
			return r
		}
		return -1
	}, code)
}
