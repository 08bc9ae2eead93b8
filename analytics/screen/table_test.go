package screen

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"skepwood/analytics/mark"
)

// TestDecisionTableIsWhole checks that rows 1 to 51 of the decision table each
// have a rule of their number.
func TestDecisionTableIsWhole(t *testing.T) {
	t.Parallel()
	for row := 1; row <= 51; row++ {
		r, ok := RuleByID(fmt.Sprintf("S%02d", row))
		require.True(t, ok, "row %d", row)
		require.Equal(t, row, r.Row)
	}
	_, ok := RuleByID("S999")
	require.False(t, ok)
}

func TestRulesAreWellFormed(t *testing.T) {
	t.Parallel()
	last := ""
	for _, r := range Rules() {
		require.Greater(t, r.ID, last, "rules are in order of id")
		last = r.ID
		for _, text := range []string{r.Name, r.Text, r.Source} {
			require.NotEmpty(t, text, r.ID)
		}
		require.True(t, strings.HasSuffix(r.Text, "."), "%s: the reason is a sentence", r.ID)
		require.True(t, r.Verdict == "" || r.Verdict.Known(), r.ID)
		require.Contains(t, []Standing{Published, CommonPractice, HousePolicy}, r.Standing, r.ID)
		require.Contains(t, []Status{Checked, FromMemory, NoSource}, r.Status, r.ID)
		require.True(t, slices.ContainsFunc(Versions(), func(v RuleVersion) bool { return v.Version == r.Since }), r.ID)
		require.False(t, r.Standing == Published && r.Status == NoSource, "%s: published rules have a source", r.ID)
		if r.Row == 0 && r.ID != "S00" {
			require.GreaterOrEqual(t, r.ID, "S52")
		}
	}
}

// TestNeverHasNoLift checks the promise that only a recorded misreading fells
// the verdict never.
func TestNeverHasNoLift(t *testing.T) {
	t.Parallel()
	for _, r := range Rules() {
		if r.Verdict == Never {
			require.Empty(t, r.Lifts, r.ID)
		}
	}
}

// TestBoundsOfHousePolicy checks that only rows marked house policy can be set,
// that the default lies within the bounds, and that they say what they rest on.
func TestBoundsOfHousePolicy(t *testing.T) {
	t.Parallel()
	for _, r := range Rules() {
		settable := len(r.Allowed) > 0
		if settable {
			require.Contains(t, r.Allowed, r.Verdict, r.ID)
			require.NotEmpty(t, r.Why, r.ID)
		}
		for _, l := range r.Lifts {
			require.NotEmpty(t, l.Text, r.ID)
			require.NotEmpty(t, l.When, "%s/%s: a lift needs evidence", r.ID, l.ID)
			if len(l.Allowed) > 0 {
				settable = true
				require.Contains(t, l.Allowed, l.To, r.ID)
				require.NotEmpty(t, l.Why, r.ID)
			}
		}
		require.Equal(t, r.Standing == HousePolicy, settable, "%s: %s", r.ID, r.Standing)
	}
	for _, s := range PolicySettings() {
		require.True(t, slices.IsSortedFunc(s.Allowed, func(a, b Verdict) int { return a.Severity() - b.Severity() }), s.ID)
	}
}

// TestFactsHaveMakers checks that every fact a rule, check or caution asks for
// can come from some finding, and that every value of every kind has a part in
// some rule or check: a misspelt name would switch a rule off unseen.
func TestFactsHaveMakers(t *testing.T) {
	t.Parallel()
	made, asked := madeFacts(), askedFacts()
	for name := range asked {
		require.True(t, made[name], "nothing makes fact %q", name)
	}
	for _, p := range mark.Preservatives() {
		if p.Kind == "preservative" {
			require.True(t, asked["mark.pres="+p.Code], "no rule for preservative %s", p.Code)
		}
	}
}

// madeFacts lists every fact a finding can yield.
func madeFacts() map[string]bool {
	made := map[string]bool{"unknown=kind": true, "unknown=value": true, "mark.noise": true}
	for _, k := range Kinds() {
		made[string(k.Kind)+"=?"] = true
		for _, v := range k.Values {
			made[string(k.Kind)+"="+v.Value] = true
			for _, f := range v.Facts {
				made[f] = true
			}
		}
		for _, b := range k.Bands {
			for _, f := range b.Facts {
				made[f] = true
			}
		}
	}
	m := &tables().marks
	ids := []factID{
		m.any, m.unreadable, m.incomplete, m.unknownCode, m.twoCodes, m.withdrawn, m.countryOdd, m.countryRetired, m.lumber,
		m.treated, m.useCategory, m.owner, m.cargo, m.un, m.un3359, m.dunnage, m.debarked, m.kiln, m.repair, m.misspelt, m.ncUS, m.untreated,
	}
	for _, byCode := range []map[string]factID{m.code, m.full, m.preservative} {
		for _, id := range byCode {
			ids = append(ids, id)
		}
	}
	for _, id := range ids {
		made[tables().factNames[id]] = true
	}
	return made
}

// askedFacts lists every fact the tables ask for.
func askedFacts() map[string]bool {
	asked := map[string]bool{}
	ask := func(when [][]string) {
		for _, clause := range when {
			for _, name := range clause {
				asked[name] = true
			}
		}
	}
	for _, r := range Rules() {
		ask(r.When)
		for _, l := range r.Lifts {
			ask(l.When)
		}
		if r.Misread != nil {
			for _, s := range r.Misread.Steps {
				ask(s.When)
			}
		}
	}
	for _, c := range tables().checks {
		ask([][]string{c.Unless, c.Needs})
		for _, o := range c.Outcomes {
			ask([][]string{o.Facts})
		}
	}
	for _, c := range tables().cautions {
		ask(c.When)
	}
	return asked
}

// TestHoldsCanBeSettled checks that every rule that holds and has a lift is
// named by some check, so that a next look can be offered.
func TestHoldsCanBeSettled(t *testing.T) {
	t.Parallel()
	named := map[string]bool{}
	for _, c := range tables().checks {
		for _, id := range c.For {
			_, ok := RuleByID(id)
			require.True(t, ok, "%s names rule %s", c.ID, id)
			named[id] = true
		}
		for _, o := range c.Outcomes {
			require.Positive(t, o.Weight, c.ID)
			for _, a := range o.Add {
				require.NoError(t, Validate(Finding{Kind: a.Kind, Value: a.Value, Note: "Lab X"}), c.ID)
			}
		}
	}
	for _, r := range Rules() {
		if r.Verdict == Hold && len(r.Lifts) > 0 {
			require.True(t, named[r.ID], "no check helps with %s", r.ID)
		}
	}
}

// TestWordsNeverSaySafe checks the promise about wording in every table.
func TestWordsNeverSaySafe(t *testing.T) {
	t.Parallel()
	claims := regexp.MustCompile(`(?i)\b(is|are|wood|be) safe\b|\bsafely\b|\bharmless\b|\bno risk\b|\bguarantee`)
	for _, name := range []string{"rules.json", "kinds.json", "checks.json", "cautions.json"} {
		text, err := files.ReadFile(name)
		require.NoError(t, err)
		require.Empty(t, claims.FindAllString(string(text), -1), name)
	}
	require.Contains(t, string(Document()), "No published residue study of fumigants in hive wood or wax was found")
}

// TestDocumentIsSmall keeps the rule document within 40 KB gzipped, so that a
// phone holds it.
func TestDocumentIsSmall(t *testing.T) {
	t.Parallel()
	const most = 40 << 10
	var packed bytes.Buffer
	w, err := gzip.NewWriterLevel(&packed, gzip.BestCompression)
	require.NoError(t, err)
	_, err = w.Write(Document())
	require.NoError(t, err)
	require.NoError(t, w.Close())
	t.Logf("rule document: %d bytes, %d gzipped", len(Document()), packed.Len())
	require.LessOrEqual(t, packed.Len(), most)
}

func TestDocumentHoldsEverything(t *testing.T) {
	t.Parallel()
	var doc map[string]json.RawMessage
	require.NoError(t, json.Unmarshal(Document(), &doc))
	for _, name := range []string{"version", "date", "verdicts", "algorithm", "kinds", "rules", "checks", "cautions", "mark_facts", "withdrawals", "mark"} {
		require.NotEmpty(t, doc[name], name)
	}
	var rules []Rule
	require.NoError(t, json.Unmarshal(doc["rules"], &rules))
	require.Equal(t, Rules(), rules)
	var grammar mark.Grammar
	require.NoError(t, json.Unmarshal(doc["mark"], &grammar))
	require.NotEmpty(t, grammar.Countries)
	require.NotEmpty(t, grammar.Forms)
}

// TestVersionMatchesTables fails when a table changed and no version was added:
// verdicts are stored with their version, so it must tell editions apart.
func TestVersionMatchesTables(t *testing.T) {
	t.Parallel()
	last := lastVersion()
	require.Equal(t, last.SHA256, checksum(), "the tables changed: add a version to versions.json with this checksum")
	require.True(t, strings.HasPrefix(Version(), last.Version))
	require.Contains(t, Version(), mark.Document().Version)
	seen := map[string]bool{}
	for _, v := range Versions() {
		require.False(t, seen[v.Version], "version %s twice", v.Version)
		seen[v.Version] = true
		require.Regexp(t, `^\d{4}-\d\d-\d\d$`, v.Date)
		require.NotEmpty(t, v.Change)
	}
}

// TestTablesRefuseFaults checks the reader of the tables on tables with faults.
func TestTablesRefuseFaults(t *testing.T) {
	t.Parallel()
	_, err := loadTables()
	require.NoError(t, err)
	require.LessOrEqual(t, len(tables().factNames), maxFacts)
	var into []Rule
	require.ErrorContains(t, readTable("nothing.json", &into), "nothing.json")
	require.ErrorContains(t, readTable("kinds.json", &into), "unknown field")
}
