package screen

import (
	"encoding/json"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"skepwood/analytics/mark"
)

// script follows the steps of the document's "algorithm" with nothing but the
// document's tables, in strings and maps as a small script elsewhere would. It
// shares no code with Judge beyond the reader of marks.
type script struct {
	Kinds []KindInfo
	Rules []Rule
	Days  map[string]string `json:"withdrawals"`
}

// scriptFinding is a finding as the script sees it.
type scriptFinding struct {
	facts  []string
	place  string
	day    string
	clears bool
	aside  bool
	kind   *KindInfo
}

// scriptResult is what a verdict must agree on.
type scriptResult struct {
	Verdict Verdict  `json:"verdict"`
	Stop    bool     `json:"stop"`
	Reasons []string `json:"reasons"`
	Stops   []string `json:"stops"`
	Remarks []string `json:"remarks"`
	Lifted  []string `json:"lifted"`
}

func newScript(t *testing.T) *script {
	t.Helper()
	var s script
	require.NoError(t, json.Unmarshal(Document(), &s))
	require.NotEmpty(t, s.Rules)
	return &s
}

var (
	scriptTrim   = regexp.MustCompile(`^[ \t\r\n]+|[ \t\r\n]+$`)
	scriptGap    = regexp.MustCompile(`[ \t\r\n-]+`)
	scriptUpper  = regexp.MustCompile(`[A-Z]`)
	scriptSays   = regexp.MustCompile(`[\p{L}\p{Nd}][^\p{L}\p{Nd}]*[\p{L}\p{Nd}]`)
	scriptNumber = regexp.MustCompile(`^([0-9]{1,3})(?:[.,]([0-9]{1,3}))?[ \t\r\n]*%?$`)
)

// scriptOdd are the standings of letters that are no country code.
var scriptOdd = []string{"reserved", "user-assigned", "unassigned"}

func scriptTrimmed(text string) string { return scriptTrim.ReplaceAllString(text, "") }

func scriptChoice(text string) string {
	text = scriptUpper.ReplaceAllStringFunc(scriptTrimmed(text), strings.ToLower)
	return scriptGap.ReplaceAllString(text, "_")
}

func (s *script) judge(findings []Finding, opts Options, board bool) scriptResult {
	list := s.gather(findings, opts, board)
	s.setAside(findings, list, opts, board)
	present := map[string]bool{}
	for _, e := range list {
		for _, f := range e.facts {
			present[f] = present[f] || !e.aside
		}
	}
	left := map[string]bool{}
	var out scriptResult
	for _, r := range s.Rules {
		for _, trigger := range s.triggers(r, list, present) {
			verdict, fell := s.answer(r, trigger, list, opts, board)
			switch {
			case fell && (r.Verdict != "" || r.Stop):
				out.Lifted = append(out.Lifted, r.ID)
			case fell:
			case r.Stop:
				out.Stop = true
				out.Stops = append(out.Stops, r.ID)
			case verdict == "":
				out.Remarks = append(out.Remarks, r.ID)
			default:
				left[string(verdict)] = true
				out.Reasons = append(out.Reasons, string(verdict)+" "+r.ID)
			}
		}
	}
	out.Verdict = Hold
	for _, v := range []Verdict{Never, Hold, Outside, Inside} {
		if left[string(v)] {
			out.Verdict = v
			break
		}
	}
	return out.sorted()
}

func (r scriptResult) sorted() scriptResult {
	for _, list := range []*[]string{&r.Reasons, &r.Stops, &r.Remarks, &r.Lifted} {
		slices.Sort(*list)
		*list = append([]string{}, slices.Compact(*list)...)
	}
	return r
}

func (s *script) gather(findings []Finding, opts Options, board bool) []*scriptFinding {
	var list []*scriptFinding
	for _, f := range findings {
		e := &scriptFinding{place: "lot", day: "", kind: &KindInfo{}}
		if f.On != "" && f.On != "lot" {
			e.place = "board " + f.On
			if board {
				e.place = "board"
			}
		}
		if !f.At.IsZero() {
			e.day = f.At.UTC().Format(time.DateOnly)
		}
		list = append(list, e)
		if f.Struck {
			continue
		}
		at := slices.IndexFunc(s.Kinds, func(k KindInfo) bool { return k.Kind == f.Kind })
		if at < 0 {
			e.facts = []string{"unknown=kind"}
			continue
		}
		e.kind = &s.Kinds[at]
		e.facts, e.clears = s.facts(e.kind, f)
		if !opts.Today.IsZero() && e.day > opts.Today.AddDate(0, 0, 1).UTC().Format(time.DateOnly) {
			e.clears = false
		}
	}
	return list
}

func (s *script) facts(k *KindInfo, f Finding) ([]string, bool) {
	name := string(k.Kind)
	if name == "misreading" || name == "disagreement" {
		return nil, false
	}
	unknown := []string{name + "=?", "unknown=value"}
	if k.Number {
		if m := scriptNumber.FindStringSubmatch(scriptTrimmed(f.Value)); m != nil {
			number, _ := strconv.ParseFloat(m[1]+"."+m[2]+"0", 64)
			for _, b := range k.Bands {
				if number <= b.UpTo {
					return b.Facts, true
				}
			}
		}
		return unknown, false
	}
	if v := scriptListed(k, f.Value); v != nil && (k.Read != "mark" || v.Own) {
		needsNote := k.NoteLabel != "" || v.NoteLabel != ""
		return append([]string{name + "=" + v.Value}, v.Facts...), !needsNote || scriptSays.MatchString(f.Note)
	}
	if k.Read == "mark" {
		return s.markFacts(name, f.Value)
	}
	if k.FreeText {
		return unknown[:1], false
	}
	return unknown, false
}

func scriptListed(k *KindInfo, text string) *ValueInfo {
	if len(text) > 64 {
		return nil
	}
	choice := scriptChoice(text)
	for {
		for i := range k.Values {
			if scriptChoice(k.Values[i].Value) == choice {
				return &k.Values[i]
			}
		}
		cut := strings.LastIndex(choice, "_")
		if !k.Prefix || cut <= 0 {
			return nil
		}
		choice = choice[:cut]
	}
}

// markFacts follows "mark_facts".
func (s *script) markFacts(kind, text string) ([]string, bool) {
	r := mark.Read(text)
	facts := map[string]bool{}
	lumber := len(r.Readings) == 1 && r.More == 0 && r.Symbol == "" && r.Country == "" && r.CountryStatus == "" && (r.GradeStamp || r.Kiln != "")
	two := len(r.Treatments) > 1 && len(r.Unknown) == 0 && len(r.Readings)+r.More == 1 && r.CountryStatus == "official" &&
		r.Certainty["symbol"] == "read" && r.Certainty["country"] == "read" && r.Certainty["producer"] == "read"
	full := r.Complete || two
	gas := slices.Contains(r.Treatments, "MB") || slices.Contains(r.Treatments, "SF")
	every := map[string]int{}
	for _, a := range r.Readings {
		s.againstFacts(facts, a.Fields)
		for _, c := range a.Treatments {
			every[c]++
		}
	}
	for _, c := range []string{"HT", "DH", "MB", "SF"} {
		heat := c == "HT" || c == "DH"
		all := len(r.Readings) > 0 && every[c] == len(r.Readings)
		facts["mark.code="+c] = facts["mark.code="+c] || heat && all
		facts["mark.full="+c] = full && slices.Contains(r.Treatments, c) && (!heat || !gas)
	}
	facts["mark.lumber=HT"] = lumber && facts["mark.code=HT"]
	doubt, missing, part := r.UnreadRunes > 0 || len(r.Readings)+r.More > 1, false, false
	if !full && !lumber {
		for _, field := range []string{"symbol", "country", "producer", "treatment"} {
			missing = missing || r.Certainty[field] == mark.CertaintyMissing
			part = part || field != "producer" && r.Certainty[field] != mark.CertaintyMissing
		}
		for _, field := range []string{"symbol", "country", "producer", "treatment"} {
			c := r.Certainty[field]
			odd := field == "country" && slices.Contains(scriptOdd, string(r.CountryStatus))
			doubt = doubt || part && !odd && (c == mark.CertaintyAssumed || c == mark.CertaintyContradictory)
		}
	}
	facts["mark.incomplete"], facts["mark.unreadable"] = missing && part, doubt
	list := []string{}
	for name, is := range facts {
		if is {
			list = append(list, name)
		}
	}
	switch {
	case len(list) > 0:
		return append(list, "mark.any"), true
	case kind == "mark":
		return []string{"mark.any", "mark.noise"}, false
	default:
		return []string{kind + "=?"}, false
	}
}

func (s *script) againstFacts(facts map[string]bool, f mark.Fields) {
	mb := slices.Contains(f.Treatments, "MB")
	for _, p := range f.Preservatives {
		facts["mark.pres="+p] = true
	}
	un3359 := slices.Contains(f.DangerousGoods, "UN3359")
	for name, is := range map[string]bool{
		"mark.code=MB": mb, "mark.code=SF": slices.Contains(f.Treatments, "SF"), "mark.withdrawn=MB": mb && s.Days[f.Country] != "",
		"mark.treated": f.Treated && len(f.Preservatives)+len(f.UseCategories) == 0, "mark.uc": len(f.UseCategories) > 0,
		"mark.two_codes": len(f.Treatments) > 1, "mark.unknown_code": len(f.Unknown) > 0, "mark.owner": f.Ownership != "",
		"mark.chem_pallet": len(f.Cargo) > 0, "mark.un3359": un3359, "mark.un": len(f.DangerousGoods) > 1 || len(f.DangerousGoods) == 1 && !un3359,
		"mark.dunnage": f.Dunnage, "mark.db": f.Debarked, "mark.kd": f.Kiln != "", "mark.repair": f.Repair, "mark.misspelt": f.Symbol == "IPCC",
		"mark.nc_us": slices.Contains(f.Extra, "NC-US"), "mark.untreated": slices.Contains(f.Extra, "UNTREATED"),
		"mark.country_odd":     slices.Contains(scriptOdd, string(f.CountryStatus)),
		"mark.country_retired": f.CountryStatus == "retired",
	} {
		facts[name] = facts[name] || is
	}
}

func (s *script) setAside(findings []Finding, list []*scriptFinding, opts Options, board bool) {
	future := opts.Today.AddDate(0, 0, 1).UTC().Format(time.DateOnly)
	for i, f := range findings {
		late := !opts.Today.IsZero() && list[i].day > future
		if f.Kind != "misreading" || f.Struck || !scriptSays.MatchString(f.Note) || late || scriptTrimmed(f.Value) == "" {
			continue
		}
		name := scriptTrimmed(f.Value)
		named := func(j int) bool { return findings[j].ID == name }
		if !slices.ContainsFunc(scriptIndexes(findings), func(j int) bool { return named(j) && s.canSetAside(findings, list, i, j, board) }) {
			kind, value, ok := strings.Cut(name, "=")
			named = func(j int) bool {
				return ok && list[j].place == list[i].place && scriptTrimmed(kind) == string(findings[j].Kind) && scriptChoice(value) == scriptChoice(findings[j].Value)
			}
		}
		for j := range findings {
			if named(j) && s.canSetAside(findings, list, i, j, board) {
				list[j].aside, list[j].clears = true, false
			}
		}
	}
}

func scriptIndexes(findings []Finding) []int {
	all := make([]int, len(findings))
	for i := range all {
		all[i] = i
	}
	return all
}

func (s *script) canSetAside(findings []Finding, list []*scriptFinding, by, of int, board bool) bool {
	f := findings[of]
	return f.Kind != "misreading" && !f.Struck && (list[by].place == "lot" || list[by].place == list[of].place || board)
}

// triggers lists what fires a rule: nil stands for silence.
func (s *script) triggers(r Rule, list []*scriptFinding, present map[string]bool) []*scriptFinding {
	if len(r.When) == 0 {
		return []*scriptFinding{nil}
	}
	for _, clause := range r.When[1:] {
		if !slices.ContainsFunc(clause, func(name string) bool { return present[name] }) {
			return nil
		}
	}
	var out []*scriptFinding
	for _, e := range list {
		if slices.ContainsFunc(r.When[0], func(name string) bool { return slices.Contains(e.facts, name) }) {
			out = append(out, e)
		}
	}
	return out
}

func (s *script) answer(r Rule, trigger *scriptFinding, list []*scriptFinding, opts Options, board bool) (Verdict, bool) {
	best, fell := s.chosen(opts, r.ID, r.Verdict, r.Allowed), false
	take := func(to Verdict) {
		if to == "" {
			fell = true
		} else if to.Severity() < best.Severity() {
			best = to
		}
	}
	if trigger != nil && trigger.aside {
		if r.Misread == nil {
			return "", true
		}
		for _, step := range r.Misread.Steps {
			if s.met(RuleLift{When: step.When}, trigger, list, board) {
				take(step.To)
			}
		}
		return best, fell
	}
	if best == Never {
		return best, false
	}
	for _, l := range r.Lifts {
		if s.met(l, trigger, list, board) {
			take(s.chosen(opts, r.ID+"/"+l.ID, l.To, l.Allowed))
		}
	}
	return best, fell
}

func (s *script) chosen(opts Options, key string, otherwise Verdict, allowed []Verdict) Verdict {
	if v, ok := opts.Policy.Settings[key]; ok && slices.Contains(allowed, v) {
		return v
	}
	return otherwise
}

func (s *script) met(l RuleLift, trigger *scriptFinding, list []*scriptFinding, board bool) bool {
	for _, clause := range l.When {
		var days []string
		found := false
		for _, e := range list {
			has := slices.ContainsFunc(clause, func(name string) bool { return slices.Contains(e.facts, name) })
			if has && e.clears && s.reach(e, l, trigger, board) && s.timely(e, l, trigger) && (l.Apart == 0 || e.day != "") {
				found = true
				days = append(days, e.day)
			}
		}
		if !found {
			return false
		}
		if l.Apart > 0 {
			first, _ := time.Parse(time.DateOnly, slices.Min(days))
			last, _ := time.Parse(time.DateOnly, slices.Max(days))
			if last.Sub(first) < time.Duration(l.Apart)*24*time.Hour {
				return false
			}
		}
	}
	return true
}

func (s *script) reach(e *scriptFinding, l RuleLift, trigger *scriptFinding, board bool) bool {
	about := "lot"
	if trigger != nil {
		about = trigger.place
	}
	switch {
	case l.Own:
		return board && e.place != "lot"
	case e.place == about:
		return true
	case e.place == "lot":
		return e.kind.Reach != "piece"
	default:
		return board && about == "lot"
	}
}

func (s *script) timely(e *scriptFinding, l RuleLift, trigger *scriptFinding) bool {
	if !e.kind.Dated || trigger == nil {
		return true
	}
	if l.Later {
		return trigger.day != "" && e.day > trigger.day
	}
	return trigger.day == "" || e.day >= trigger.day
}

// resultOf puts a judgement in the form of the script's result.
func resultOf(j Judgement) scriptResult {
	out := scriptResult{Verdict: j.Verdict, Stop: j.OwnershipStop}
	for _, r := range j.Reasons {
		out.Reasons = append(out.Reasons, string(r.Verdict)+" "+r.RuleID)
	}
	for from, to := range map[*[]Reason]*[]string{&j.Stops: &out.Stops, &j.Remarks: &out.Remarks, &j.Lifted: &out.Lifted} {
		for _, r := range *from {
			*to = append(*to, r.RuleID)
		}
	}
	return out.sorted()
}

// TestScriptReachesTheSameVerdict compares Judge with the script on random
// findings, lots and boards, dates, misreadings and policies.
func TestScriptReachesTheSameVerdict(t *testing.T) {
	t.Parallel()
	s := newScript(t)
	settings := PolicySettings()
	rapid.Check(t, func(t *rapid.T) {
		pick := rapidPicker(t)
		opts := Options{Policy: Policy{Settings: map[string]Verdict{}}}
		if pick(2) == 0 {
			opts.Today = today
		}
		for range pick(3) {
			set := settings[pick(len(settings))]
			opts.Policy.Settings[set.ID] = Verdicts()[pick(4)]
		}
		const setsPerDraw = 10
		for range setsPerDraw {
			lot, own := pick.findings(mostDrawn), pick.findings(5)
			require.Equal(t, s.judge(lot, opts, false), resultOf(Judge(lot, opts)), "%v", lot)
			both := together(lot, own)
			require.Equal(t, s.judge(both, opts, true), resultOf(JudgeBoard(lot, own, opts)), "%v", both)
		}
	})
}
