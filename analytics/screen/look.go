package screen

// Prior counts what lots of this source came to once they were settled. The
// zero value knows nothing.
type Prior struct {
	Inside  int `json:"inside"`
	Outside int `json:"outside"`
	Hold    int `json:"hold"`
	Never   int `json:"never"`
}

// Look is one check a person can make, chosen for a held lot.
type Look struct {
	// ID is the check's id in the document; Label names it.
	ID    string `json:"id"`
	Label string `json:"label"`
	// How says how to do it, in a sentence or two.
	How string `json:"how"`
	// Why explains the choice in one sentence.
	Why string `json:"why"`
	// Minutes is about how long it takes, waiting not counted.
	Minutes int `json:"minutes"`
	// Settles is the chance, 0 to 1, that the check alone ends the hold.
	Settles float64 `json:"settles"`
	// Gain is what it was chosen by, 0 to 1: see NextLook.
	Gain float64 `json:"gain"`
	// Outcomes are what may come out, each with the findings to record and the
	// verdict that would follow.
	Outcomes []LookOutcome `json:"outcomes"`
}

// LookOutcome is one thing a check may show.
type LookOutcome struct {
	Label   string    `json:"label"`
	Add     []Finding `json:"add"`
	Chance  float64   `json:"chance"`
	Verdict Verdict   `json:"verdict"`
}
