package screen

import "slices"

// cautionRow is one row of cautions.json.
type cautionRow struct {
	Caution
	When     [][]string `json:"when,omitempty"`
	Verdicts []Verdict  `json:"verdicts,omitempty"`
	clauses  []factSet
}

func (t *tableSet) compileCautions() {
	for i := range t.cautions {
		t.cautions[i].clauses = t.clauses(t.cautions[i].When)
	}
}

// cautionsFor lists the cautions whose facts are present and whose verdict is
// the judgement's. Entries set aside as misread no longer warn.
func (h *hearing) cautionsFor(j *Judgement) []Caution {
	out := make([]Caution, 0, len(h.t.cautions)/2)
	for i := range h.t.cautions {
		c := &h.t.cautions[i]
		if len(c.Verdicts) > 0 && !slices.Contains(c.Verdicts, j.Verdict) {
			continue
		}
		if h.allPresent(c.clauses) {
			out = append(out, c.Caution)
		}
	}
	return out
}

func (h *hearing) allPresent(clauses []factSet) bool {
	for i := range clauses {
		if !clauses[i].meets(&h.present) {
			return false
		}
	}
	return true
}
