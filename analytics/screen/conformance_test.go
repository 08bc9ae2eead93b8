package screen

import (
	"encoding/json"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

var update = flag.Bool("update", false, "write testdata/screen/conformance.json anew")

// conformancePath is shared with whatever else judges from the document.
var conformancePath = filepath.Join("..", "..", "testdata", "screen", "conformance.json")

// conformance is the file of vectors.
type conformance struct {
	About   string   `json:"about"`
	Version string   `json:"version"`
	Vectors []vector `json:"vectors"`
}

// vector is one set of findings with the verdict and the rules it must lead to.
// With "board" the findings are the lot's and one board of it is judged.
type vector struct {
	Name     string             `json:"name"`
	Today    string             `json:"today,omitempty"`
	Policy   map[string]Verdict `json:"policy,omitempty"`
	Findings []Finding          `json:"findings"`
	Board    []Finding          `json:"board,omitempty"`
	Expect   scriptResult       `json:"expect"`
}

const conformanceAbout = "Findings and the verdict they must lead to, from the rule document of this version alone. " +
	"'reasons' are verdict and rule, 'stops' legal stops, 'remarks' rules without a verdict, 'lifted' rules answered away: sorted, each once. " +
	"'today' is a day; without it nothing is in the future. With 'board', judge that board: 'findings' are the lot's."

// vectors are the cases named by rule, the marks of the mark examples, and
// random sets of findings, lots and boards, with and without policy and dates.
func vectors(t *testing.T) []vector {
	t.Helper()
	var all []vector
	for _, c := range ruleCases() {
		all = append(all, vector{Name: c.rule + ": " + caseName(c.findings), Findings: c.findings})
		for _, o := range c.outs {
			all = append(all, vector{Name: c.rule + ": " + caseName(c.findings) + " then " + caseName(o.add), Findings: slices.Concat(c.findings, o.add)})
		}
	}
	for _, text := range exampleMarks(t) {
		all = append(all, vector{Name: "text: " + text, Findings: []Finding{{Kind: "mark", Value: text, On: OnLot}}})
		all = append(all, vector{Name: "text on a clean crate: " + text, Findings: home(Finding{Kind: "mark", Value: text, On: OnLot})})
	}
	all = append(all, policyVectors()...)
	pick := seededPicker(2026)
	settings := PolicySettings()
	for i := range 200 {
		v := vector{Name: fmt.Sprintf("random %d", i), Findings: pick.findings(8)}
		if i%2 == 0 {
			v.Today = today.Format(time.DateOnly)
		}
		if i%3 == 0 {
			v.Board = append([]Finding{pick.finding(v.Findings)}, pick.findings(3)...)
		}
		if i%5 == 0 {
			s := settings[pick(len(settings))]
			v.Policy = map[string]Verdict{s.ID: s.Allowed[pick(len(s.Allowed))]}
		}
		all = append(all, v)
	}
	return all
}

// policyVectors are house policies at work by name: a never of the house against
// each kind of evidence, stricter and milder lifts, and notes that say nothing.
func policyVectors() []vector {
	var all []vector
	add := func(name string, policy map[string]Verdict, findings ...Finding) {
		all = append(all, vector{Name: "policy: " + name, Policy: policy, Findings: findings})
	}
	for _, c := range houseNevers() {
		strict := map[string]Verdict{c.rule: Never}
		add(c.rule+"=never", strict, c.finding)
		add(c.rule+"=never and a laboratory result", strict, c.finding, c.lift)
		add(c.rule+"=never and a recorded misreading", strict, home(c.finding, misread(string(c.finding.Kind)+"="+c.finding.Value))...)
		add(c.rule+"=never, a misreading whose note says nothing", strict, c.finding, Finding{Kind: kindMisreading, Value: string(c.finding.Kind) + "=" + c.finding.Value, On: OnLot, Note: "."})
		add(c.rule+"=hold and a laboratory result", map[string]Verdict{c.rule: Hold}, c.finding, c.lift)
		weak := c.lift
		weak.Note = " - "
		add(c.rule+" and a laboratory result whose note says nothing", nil, c.finding, weak)
	}
	aired := []Finding{heat, f("fumigation", "container"), f("done", "aired"), f("odour", "fresh")}
	for _, v := range []Verdict{Inside, Outside, Hold, Never} {
		add("S03/aired="+string(v), map[string]Verdict{"S03/aired": v}, aired...)
		add("S18="+string(v)+" is ignored", map[string]Verdict{"S18": v}, home(f("tag", "CCA"))...)
	}
	return all
}

// exampleMarks are the texts of the mark examples.
func exampleMarks(t *testing.T) []string {
	t.Helper()
	text, err := os.ReadFile(filepath.Join("testdata", "mark_texts.txt"))
	require.NoError(t, err)
	lines := strings.Split(strings.TrimSpace(string(text)), "\n")
	return append(lines, "IPPC\nDE-NW 49 1234\nHT", "  ippc  de-nw-49-1234 ht ", "PROPERTY OF EXAMPLE YARD\nIPPC US-12 HT", "CCA 0.25 UC3B AWPA", "🪵", "IPPC US-12345 H_")
}

// judge judges the vector by Judge or JudgeBoard.
func (v *vector) judge(t *testing.T) Judgement {
	t.Helper()
	opts := v.options(t)
	if v.Board != nil {
		return JudgeBoard(v.Findings, v.Board, opts)
	}
	return Judge(v.Findings, opts)
}

func (v *vector) options(t *testing.T) Options {
	t.Helper()
	opts := Options{Policy: Policy{Settings: v.Policy}}
	if v.Today != "" {
		day, err := time.Parse(time.DateOnly, v.Today)
		require.NoError(t, err)
		opts.Today = day
	}
	return opts
}

// TestConformance runs the vectors against Judge and against the script that
// has only the document. With -update the file is written anew; read its diff.
func TestConformance(t *testing.T) {
	t.Parallel()
	if *update {
		writeConformance(t)
	}
	text, err := os.ReadFile(conformancePath)
	require.NoError(t, err)
	var file conformance
	require.NoError(t, json.Unmarshal(text, &file))
	require.GreaterOrEqual(t, len(file.Vectors), 400)
	s := newScript(t)
	seen := map[Verdict]int{}
	for _, v := range file.Vectors {
		require.Equal(t, v.Expect, resultOf(v.judge(t)), v.Name)
		findings, board := v.Findings, v.Board != nil
		if board {
			findings = together(v.Findings, v.Board)
		}
		require.Equal(t, v.Expect, s.judge(findings, v.options(t), board), v.Name)
		seen[v.Expect.Verdict]++
	}
	for _, v := range Verdicts() {
		require.Greater(t, seen[v], 20, v)
	}
	for _, r := range Rules() {
		require.Contains(t, string(text), r.ID+`"`, "no vector has %s", r.Name)
	}
}

func writeConformance(t *testing.T) {
	t.Helper()
	file := conformance{About: conformanceAbout, Version: lastVersion().Version, Vectors: vectors(t)}
	for i := range file.Vectors {
		file.Vectors[i].Findings = append([]Finding{}, file.Vectors[i].Findings...)
		file.Vectors[i].Expect = resultOf(file.Vectors[i].judge(t))
	}
	var out strings.Builder
	out.WriteString("{\n\"about\": " + string(asJSON(file.About)) + ",\n\"version\": " + string(asJSON(file.Version)) + ",\n\"vectors\": [\n")
	for i, v := range file.Vectors {
		if i > 0 {
			out.WriteString(",\n")
		}
		out.Write(asJSON(v))
	}
	out.WriteString("\n]\n}\n")
	require.NoError(t, os.MkdirAll(filepath.Dir(conformancePath), 0o755))
	require.NoError(t, os.WriteFile(conformancePath, []byte(out.String()), 0o644))
}
