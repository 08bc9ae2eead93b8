package screen

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"slices"
	"sync"
	"time"

	"skepwood/analytics/mark"
)

// documentTables are the embedded files that make up the document, by the name
// each has in it.
var documentTables = [...]struct{ name, file string }{
	{"kinds", "kinds.json"}, {"rules", "rules.json"},
	{"checks", "checks.json"}, {"cautions", "cautions.json"}, {"mark_facts", "markfacts.json"},
}

// Document returns the versioned JSON document of rules, kinds, checks, cautions
// and mark grammar, complete enough for a script to reach the same verdict:
// "version", "verdicts" (mildest first), "algorithm" (the package comment's steps
// in words), "kinds", "rules", "checks", "cautions", "mark_facts" (how a mark
// reading becomes facts), "withdrawals" (days by country) and "mark" (mark.Document). The caller must not change it.
func Document() []byte { return document() }

var document = sync.OnceValue(func() []byte {
	doc := map[string]json.RawMessage{
		"version":     asJSON(Version()),
		"date":        asJSON(lastVersion().Date),
		"verdicts":    asJSON(Verdicts()),
		"algorithm":   asJSON(algorithm),
		"mark":        asJSON(grammar()),
		"withdrawals": asJSON(withdrawals()),
	}
	for _, t := range documentTables {
		doc[t.name] = tableText(t.file)
	}
	return asJSON(doc)
})

// checksum is the SHA-256 of this package's own tables, in hex. The version
// table keeps it, so that no table changes without a new version; the mark
// grammar has a version of its own, which Version carries too.
func checksum() string {
	sum := sha256.New()
	for _, t := range documentTables {
		sum.Write(tableText(t.file))
	}
	return hex.EncodeToString(sum.Sum(nil))
}

// grammar is the mark grammar without what no verdict needs: where a country
// lies and where its code was read. A phone need not carry that.
func grammar() mark.Grammar {
	g := mark.Document()
	g.Countries = slices.Clone(g.Countries)
	for i := range g.Countries {
		c := &g.Countries[i]
		c.Region, c.Standing, c.Source = "", "", ""
	}
	return g
}

// withdrawals lists, by country, the day from which methyl bromide could no
// longer be used on packaging there.
func withdrawals() map[string]string {
	out := map[string]string{}
	for _, c := range mark.Countries() {
		if day, _, ok := mark.Withdrawal(c.Code); ok {
			out[c.Code] = day.Format(time.DateOnly)
		}
	}
	return out
}

func lastVersion() RuleVersion {
	all := tables().versions
	return all[len(all)-1]
}

// tableText is an embedded file without its line breaks.
func tableText(name string) json.RawMessage {
	text, err := files.ReadFile(name)
	if err != nil {
		panic("screen: embedded tables: " + err.Error())
	}
	var out bytes.Buffer
	if err := json.Compact(&out, text); err != nil {
		panic("screen: embedded tables: " + err.Error())
	}
	return out.Bytes()
}

// asJSON encodes values that always can be encoded.
func asJSON(value any) json.RawMessage {
	text, err := json.Marshal(value)
	if err != nil {
		panic("screen: embedded tables: " + err.Error())
	}
	return text
}
