package screen

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// f is a finding on the lot; notes are filled, as a form would ask for them.
func f(kind Kind, value string) Finding {
	return Finding{Kind: kind, Value: value, On: OnLot, Note: "T. Example, 3 May"}
}

// on is a finding on one board.
func on(board string, kind Kind, value string) Finding {
	return Finding{Kind: kind, Value: value, On: board, Note: "T. Example, 3 May"}
}

// at dates a finding, in days of May 2026.
func at(day int, f Finding) Finding {
	f.At = time.Date(2026, time.May, day, 12, 0, 0, 0, time.UTC)
	return f
}

// misread says that the finding kind=value was misread.
func misread(name string) Finding {
	return Finding{Kind: kindMisreading, Value: name, On: OnLot, Note: "looked again in daylight"}
}

// home is evidence enough for inside without a mark.
func home(more ...Finding) []Finding {
	return append([]Finding{f("shipper", "known_domestic"), f("cargo", "tile"), f("look", "clean")}, more...)
}

// away is the longer evidence for a shipper abroad.
func away(more ...Finding) []Finding {
	return append([]Finding{
		f("statement", "shipper_and_cargo"), f("cargo", "tile"), f("look", "clean"),
		f("odour", "fresh"), f("test_copper", "negative"),
	}, more...)
}

// ruleCase is one rule at work: what fires it, the verdict with it, and for each
// way out the evidence and the verdict after.
type ruleCase struct {
	rule     string
	findings []Finding
	want     Verdict
	outs     []outCase
}

type outCase struct {
	add  []Finding
	want Verdict
}

func out(want Verdict, add ...Finding) outCase { return outCase{add, want} }

// heat is a complete heat mark, gas one of methyl bromide.
var (
	heat = f("mark", "IPPC DE-NW-49-1234 / HT")
	gas  = f("mark", "IPPC CN-001 / MB")
)

// ruleCases name every rule. Expectations are taken from the decision table by
// hand, row by row, not from the program.
func ruleCases() []ruleCase {
	return slices.Concat(markCases(), historyCases(), treatedCases(), surfaceCases(), laterCases())
}

func markCases() []ruleCase {
	return []ruleCase{
		{"S00", nil, Hold, []outCase{
			out(Inside, heat), out(Inside, f("mark", "KD-HT SPF")), out(Inside, home()...), out(Inside, away()...),
			out(Outside, f("material", "plywood_labelled")), out(Outside, f("tag", "copper naphthenate")),
			out(Outside, gas), out(Inside, f("mark", "PL-12345 HT"), f("statement", "heat_treated")),
			out(Outside, f("material", "plywood"), f("statement", "panel_maker")),
			out(Hold, f("cargo", "tile")), out(Hold, f("species", "pine")), out(Hold, f("stain", "none")), out(Hold, f("statement", "heat_treated")),
		}},
		{"S01", []Finding{heat}, Inside, nil},
		{"S01", []Finding{f("mark", "IPPC NL-123 / DH")}, Inside, nil},
		{"S02", []Finding{f("mark", "KD-HT SPF")}, Inside, nil},
		{"S03", []Finding{heat, f("fumigation", "container")}, Hold, []outCase{
			out(Outside, f("done", "aired"), f("odour", "fresh")), out(Hold, f("done", "aired")), out(Hold, f("odour", "fresh")), out(Hold, f("done", "planed")),
		}},
		{"S04", []Finding{gas}, Outside, []outCase{
			out(Inside, f("test_residue", "none")), out(Outside, f("done", "aired"), f("odour", "fresh"), f("done", "planed")),
		}},
		{"S05", []Finding{f("mark", "IPPC BR-123 / SF")}, Outside, []outCase{out(Inside, f("test_residue", "none"))}},
		{"S06", []Finding{f("mark", "IPPC DE-123 / MB")}, Outside, []outCase{out(Outside, f("test_residue", "none"))}},
		{"S07", []Finding{f("mark", "IPPC ?S-10?3 H?")}, Hold, []outCase{out(Inside, heat), out(Outside, gas), out(Hold, home()...)}},
		{"S07", []Finding{f("mark_look", "worn")}, Hold, []outCase{out(Inside, heat)}},
		{"S08", []Finding{f("mark", "PL-12345 HT")}, Hold, []outCase{out(Inside, f("statement", "heat_treated")), out(Inside, heat)}},
		{"S08", []Finding{f("mark", "IPPC HT")}, Hold, []outCase{out(Inside, f("statement", "heat_treated"))}},
		{"S08", []Finding{f("mark", "IPPC PL-12345")}, Hold, []outCase{out(Hold, f("statement", "heat_treated")), out(Inside, heat)}},
		{"S09", []Finding{heat, f("mark_look", "hand_drawn")}, Hold, []outCase{out(Inside, f("statement", "heat_treated")), out(Hold, f("done", "planed"))}},
		{"S09", []Finding{heat, f("mark_look", "sticker")}, Hold, nil},
		{"S09", []Finding{heat, f("mark_look", "red_orange")}, Hold, nil},
		{"S10", []Finding{f("mark", "IPPC US-12345 / MT")}, Hold, []outCase{
			out(Outside, heat), // MT may be MB, and a good mark beside it does not undo that
			out(Inside, heat, misread("mark=IPPC US-12345 / MT")),
		}},
		{"S11", []Finding{f("mark", "IPPC US-12345 / HT MB")}, Outside, nil},
		{"S11", []Finding{f("mark", "IPPC US-12345 / HT DH")}, Inside, nil},
		{"S12", []Finding{heat, f("mark_look", "mixed_boards")}, Hold, []outCase{out(Hold, heat)}},
		{"S13", home(), Inside, nil},
		{"S13", home(f("mark_look", "none")), Inside, nil},
		{"S14", []Finding{f("mark_look", "none")}, Hold, []outCase{
			out(Inside, home()...), out(Inside, away()...), out(Inside, heat), out(Outside, f("material", "plywood_labelled")),
			out(Hold, f("shipper", "known_domestic"), f("cargo", "tile")), out(Hold, away()[:4]...),
		}},
		{"S15", []Finding{f("material", "thin_wood"), f("mark_look", "none")}, Hold, []outCase{out(Inside, home()...)}},
	}
}

func historyCases() []ruleCase {
	return []ruleCase{
		{"S16", home(f("ownership", "pool")), Inside, nil},
		{"S16", home(f("ownership", "owner_name")), Inside, nil},
		{"S17", home(f("release", "business_says")), Inside, nil},
		{"S35", home(f("stain", "spill")), Never, []outCase{out(Never, f("done", "planed"), f("done", "washed")), out(Inside, misread("stain=spill"))}},
		{"S35", home(f("stain", "crust")), Never, nil},
		{"S36", home(f("cargo", "pesticide")), Never, []outCase{out(Never, f("done", "washed"), f("done", "planed"), heat)}},
		{"S36", home(f("cargo", "battery")), Never, nil},
		{"S37", home(f("cargo", "fish")), Hold, []outCase{
			out(Inside, f("done", "washed"), f("done", "dried"), f("done", "planed")), out(Hold, f("done", "washed"), f("done", "dried")), out(Hold, f("done", "planed")),
		}},
		{"S38", []Finding{f("cargo", "steel")}, Hold, nil},
		{"S39", home(f("cargo", "bee_gear")), Hold, []outCase{out(Inside, f("statement", "inspector_cleared")), out(Hold, f("done", "washed"))}},
		{"S40", []Finding{heat, f("cargo", "unknown")}, Hold, []outCase{
			out(Inside, f("statement", "shipper_and_cargo"), f("cargo", "glass")), out(Hold, f("cargo", "glass")), out(Never, f("statement", "shipper_and_cargo"), f("cargo", "fuel")),
		}},
		{"S41", home(f("odour", "musty")), Never, []outCase{out(Never, f("odour", "fresh"), f("done", "aired"), f("done", "planed")), out(Inside, misread("odour=musty"))}},
		{"S42", home(f("odour", "solvent")), Never, nil},
		{"S42", home(f("odour", "sweet")), Never, []outCase{out(Never, f("odour", "fresh"))}},
		{"S42", home(f("odour", "sharp")), Never, nil},
		{"S43", home(f("fumigation", "placard")), Hold, []outCase{
			out(Outside, f("done", "aired"), f("fumigation", "gas_mb")), out(Hold, f("done", "aired")), out(Hold, f("fumigation", "gas_sf")), out(Outside, f("done", "aired"), gas),
		}},
		{"S87", home(f("shipper", "unknown"))[1:], Hold, []outCase{out(Inside, f("shipper", "known_domestic")), out(Inside, heat)}},
	}
}

func treatedCases() []ruleCase {
	tag := func(rule, text string) ruleCase {
		return ruleCase{rule, home(f("tag", text)), Never, []outCase{
			out(Never, heat), out(Never, f("test_metals", "none")), out(Never, f("done", "planed"), f("done", "paint_off")), out(Inside, misread("tag="+text)),
		}}
	}
	cleared := []Finding{misread("tint=green"), f("test_metals", "none")}
	return []ruleCase{
		tag("S18", "CCA"), tag("S18", "ACZA"), tag("S18", "ACA"), tag("S19", "PCP"), tag("S19", "penta"),
		{"S19", home(f("stain", "crystals")), Never, nil},
		tag("S20", "creosote"), {"S20", home(f("origin", "railway_tie")), Never, nil}, {"S20", home(f("origin", "pole")), Never, nil}, {"S20", home(f("odour", "tar")), Never, nil},
		tag("S21", "TBTO"), tag("S22", "ACQ"), tag("S22", "CA-C"), tag("S22", "MCA"), tag("S22", "MCQ"), tag("S22", "UC4A"), tag("S22", "UC3B"),
		tag("S23", "SBX"), tag("S24", "PTI"), tag("S24", "EL2"), tag("S24", "LOSP"),
		{"S25", []Finding{f("tag", "copper naphthenate")}, Outside, []outCase{out(Outside, f("done", "planed"), f("done", "aired"), heat)}},
		{"S26", home(f("tint", "green")), Never, []outCase{
			out(Never, f("test_metals", "none")), out(Never, misread("tint=green")), out(Hold, cleared[0], cleared[1], f("cargo", "tile"))}},
		{"S26", []Finding{heat, f("tint", "green")}, Never, []outCase{out(Hold, cleared...), out(Inside, append(cleared, home(f("odour", "fresh"))...)...)}},
		{"S26", home(f("incising", "slits")), Never, nil}, {"S26", home(f("end_tag_holes", "holes")), Never, nil},
		tag("S27", "FRT"),
		{"S28", []Finding{heat, f("origin", "deck")}, Never, []outCase{out(Never, f("test_metals", "none")), out(Hold, misread("origin=deck"), f("test_metals", "none"))}},
		{"S28", home(f("origin", "play_set")), Never, nil}, {"S28", home(f("origin", "sill")), Never, nil}, {"S28", home(f("origin", "older_than_2004")), Never, nil},
		tag("S58", "TBP"), tag("S59", "ACC"), tag("S60", "CX-A"), tag("S61", "KDAT"),
		{"S62", []Finding{f("tag", "oxine copper")}, Outside, nil},
		{"S63", home(f("tag", "unreadable")), Never, nil},
		{"S64", home(f("tag", "Qzyvx")), Hold, []outCase{out(Hold, heat), out(Inside, misread("tag=Qzyvx"))}},
		{"S52", home(f("test_copper", "positive")), Never, []outCase{out(Never, f("test_copper", "negative"), f("test_metals", "none"))}},
		{"S53", home(f("test_arsenic", "positive")), Never, nil}, {"S54", home(f("test_metals", "found")), Never, nil},
		{"S55", home(f("tint", "brown_through")), Never, nil}, {"S56", home(f("tint", "blue_green_dip")), Never, nil},
		{"S57", home(f("tint", "faint_dye")), Hold, []outCase{out(Outside, f("done", "planed"))}},
		{"S57", home(f("tag", "anti-sapstain")), Hold, []outCase{out(Outside, f("done", "planed"))}},
		{"S57", home(f("statement", "dipped")), Hold, []outCase{out(Outside, f("done", "planed"))}},
		{"S69", home(f("origin", "outdoor_since_2004")), Hold, []outCase{out(Inside, f("test_metals", "none"), f("odour", "fresh")), out(Hold, f("test_copper", "negative"))}},
		{"S90", home(f("tag", "pressure treated")), Never, nil},
	}
}

func surfaceCases() []ruleCase {
	return []ruleCase{
		{"S29", []Finding{f("material", "plywood_labelled")}, Outside, []outCase{out(Outside, f("done", "planed"))}},
		{"S29", []Finding{f("material", "plywood_exterior_new")}, Outside, nil}, {"S29", []Finding{f("material", "osb_labelled")}, Outside, nil},
		{"S30", home(f("material", "osb")), Hold, []outCase{out(Outside, f("statement", "panel_maker")), out(Hold, heat)}},
		{"S31", home(f("material", "mdf")), Never, nil}, {"S31", home(f("material", "particle_board")), Never, nil},
		{"S32", home(f("paint", "unknown")), Hold, []outCase{
			out(Outside, f("test_lead", "negative")), out(Inside, f("test_lead", "negative"), f("done", "paint_off")),
			out(Hold, f("done", "paint_off")), out(Hold, f("test_lead", "kit_negative")), out(Hold, f("done", "planed")), out(Never, f("test_lead", "positive")),
		}},
		{"S33", home(f("test_lead", "positive")), Never, []outCase{out(Never, f("done", "paint_off"), f("test_lead", "negative"))}},
		{"S34", home(f("finish", "varnish")), Outside, []outCase{out(Inside, f("done", "planed")), out(Outside, f("done", "aired"))}},
		{"S34", home(f("finish", "printed_ink")), Outside, nil}, {"S34", home(f("finish", "shellac")), Outside, nil},
		{"S44", home(f("stain", "blue")), Inside, nil},
		{"S45", home(f("mould", "fuzzy")), Hold, []outCase{
			out(Inside, f("moisture", "17.5"), f("done", "brushed"), f("done", "planed")), out(Hold, f("moisture", "21"), f("done", "brushed"), f("done", "planed")), out(Hold, f("moisture", "12"), f("done", "brushed")),
		}},
		{"S46", home(f("mould", "soft_rot")), Never, nil}, {"S46", home(f("insects", "fresh_dust")), Never, []outCase{out(Never, f("done", "heat_sterilised"))}},
		{"S47", home(at(1, f("moisture", "24 %"))), Hold, []outCase{
			out(Inside, at(20, f("moisture", "14.5")), at(27, f("moisture", "15"))), out(Hold, at(20, f("moisture", "14.5")), at(26, f("moisture", "14"))),
			out(Hold, at(20, f("moisture", "14.5"))), out(Hold, f("moisture", "14"), f("moisture", "14")), out(Hold, at(20, f("moisture", "16")), at(29, f("moisture", "14"))),
		}},
		{"S48", home(f("metal", "found")), Hold, []outCase{out(Inside, f("metal", "clean"))}}, {"S48", home(f("metal", "not_swept")), Hold, nil},
		{"S49", home(f("species", "pine_scots")), Inside, nil}, {"S49", home(f("species", "cedar")), Inside, nil},
		{"S50", home(f("species", "oak")), Inside, nil},
		{"S51", home(f("species", "tropical_oily")), Hold, []outCase{out(Inside, f("species", "keruing")), out(Hold, f("species", "unknown"))}},
		{"S68", home(f("insects", "old_holes")), Hold, []outCase{out(Inside, f("done", "watched"))}},
	}
}

func laterCases() []ruleCase {
	return []ruleCase{
		{"S65", home(f("fumigation", "gas_phosphine")), Outside, []outCase{out(Inside, f("test_residue", "none"))}},
		{"S66", []Finding{heat, f("mark", "CP3")}, Hold, []outCase{out(Inside, f("statement", "shipper_and_cargo"), f("cargo", "stone"))}},
		{"S67", []Finding{heat, f("mark", "UN 1263")}, Hold, []outCase{out(Inside, f("statement", "shipper_and_cargo"), f("cargo", "stone"), f("odour", "fresh"))}},
		{"S43", []Finding{heat, f("mark", "UN 3359")}, Hold, nil},
		{"S70", []Finding{heat, f("photo_only", "not_seen")}, Hold, []outCase{out(Inside, f("look", "clean"), f("odour", "fresh"))}},
		{"S71", home(f("aura", "violet")), Hold, nil}, {"S71", home(f("odour", "violets")), Hold, nil},
		{"S71", home(f("other", "a blue ribbon")), Hold, []outCase{out(Inside, misread("other=a blue ribbon"))}},
		{"S71", home(f("moisture", "1e1")), Hold, nil},
		{"S72", []Finding{f("mark", "IPPC UK-123 HT")}, Hold, []outCase{out(Inside, heat), out(Inside, f("statement", "heat_treated"))}},
		{"S72", []Finding{f("mark", "IPPC EU-123 HT")}, Hold, nil},
		{"S73", []Finding{f("mark", "IPPC CA-BC 0001 / HT   DUN")}, Inside, nil},
		{"S74", []Finding{heat, f("ownership", "exchange")}, Inside, nil},
		{"S75", []Finding{f("mark", "KD-HT SPF")}, Inside, nil},
		{"S76", []Finding{f("mark", "IPPC DE-NW-49-1234 / HT DB")}, Inside, nil},
		{"S77", home(f("test_lead", "kit_negative")), Inside, nil},
		{"S78", []Finding{gas, at(3, f("test_residue", "found"))}, Hold, []outCase{out(Outside, at(9, f("test_residue", "none"))), out(Hold, at(3, f("test_residue", "none")))}},
		{"S79", []Finding{heat, f("mark", "…☂…")}, Inside, nil},
		{"S79", home(f("mark", "☂☂")), Hold, []outCase{out(Inside, heat)}},
		{"S80", []Finding{f("mark", "IPCC US-1 HT")}, Inside, nil},
		{"S81", home(f("stain", "none"), f("stain", "oil")), Never, nil},
		{"S82", home(f("tint", "none"), f("tint", "green")), Never, nil},
		{"S83", home(f("odour", "fresh"), f("odour", "musty")), Never, nil},
		{"S84", home(f("tint", "green")), Never, nil},
		{"S85", []Finding{f("mark_look", "none"), heat}, Inside, nil},
		{"S86", away(), Inside, nil},
		{"S88", away(), Inside, nil},
		{"S89", []Finding{heat, f("mark", "NC-US")}, Inside, nil},
		{"S91", []Finding{f("mark", "IPPC DE-NW-49-1234 / HT REPAIR")}, Inside, nil},
		{"S93", []Finding{heat, f("mark", "UNTREATED")}, Inside, nil},
		{"S94", []Finding{f("material", "plywood_labelled"), f("material", "solid")}, Hold, []outCase{
			out(Outside, heat), out(Outside, home()...), out(Outside, away()...), out(Hold, f("odour", "fresh")),
		}},
		{"S92", []Finding{f("mark", "IPPC CS-123 / HT")}, Inside, nil},
	}
}

func TestRules(t *testing.T) {
	t.Parallel()
	for _, c := range ruleCases() {
		t.Run(c.rule+"/"+caseName(c.findings), func(t *testing.T) {
			t.Parallel()
			j := Judge(c.findings, Options{})
			require.Equal(t, c.want, j.Verdict, describe(j))
			require.Contains(t, fired(j), c.rule)
			for _, o := range c.outs {
				after := Judge(slices.Concat(c.findings, o.add), Options{})
				require.Equal(t, o.want, after.Verdict, "%s then %s\n%s", caseName(c.findings), caseName(o.add), describe(after))
			}
		})
	}
}

// TestEveryRuleIsNamed fails for a rule without a case of its own.
func TestEveryRuleIsNamed(t *testing.T) {
	t.Parallel()
	named := map[string]bool{}
	for _, c := range ruleCases() {
		named[c.rule] = true
	}
	for _, r := range Rules() {
		require.True(t, named[r.ID], "rule %s (%s) has no test", r.ID, r.Name)
	}
}

// fired lists every rule that has a part in the judgement.
func fired(j Judgement) []string {
	var ids []string
	for _, list := range [][]Reason{j.Reasons, j.Stops, j.Remarks, j.Lifted} {
		for _, r := range list {
			ids = append(ids, r.RuleID)
		}
	}
	return ids
}

func caseName(findings []Finding) string {
	names := make([]string, len(findings))
	for i, f := range findings {
		names[i] = string(f.Kind) + "=" + f.Value
	}
	return strings.Join(names, ",")
}

// describe lists the reasons for a failure message.
func describe(j Judgement) string {
	var b strings.Builder
	for _, r := range j.Reasons {
		b.WriteString(string(r.Verdict) + " " + r.RuleID + " " + r.Text + "\n")
	}
	for _, n := range j.Notes {
		b.WriteString("note: " + n.Text + "\n")
	}
	return b.String()
}
