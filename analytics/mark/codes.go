package mark

import (
	"cmp"
	"slices"
	"strings"
)

// Class is what sort of code something is.
type Class string

// The classes of codes.
const (
	ClassSymbol         Class = "symbol"
	ClassCountry        Class = "country"
	ClassProducer       Class = "producer"
	ClassTreatment      Class = "treatment"
	ClassUnknown        Class = "unknown"
	ClassDebarked       Class = "debarked"
	ClassKiln           Class = "kiln"
	ClassDunnage        Class = "dunnage"
	ClassMoisture       Class = "moisture"
	ClassSpecies        Class = "species"
	ClassGrade          Class = "grade"
	ClassPreservative   Class = "preservative"
	ClassUseCategory    Class = "use category"
	ClassTreated        Class = "treated"
	ClassOwnership      Class = "ownership"
	ClassCargo          Class = "cargo"
	ClassDangerousGoods Class = "dangerous goods"
	ClassRepair         Class = "repair"
	ClassLot            Class = "lot"
	ClassWord           Class = "word"
	ClassNegation       Class = "negation"
	ClassPlain          Class = "plain"
)

// IsFumigant reports whether code is a treatment by gas: MB or SF.
func IsFumigant(code string) bool { return code == "MB" || code == "SF" }

// IsTreatment reports whether code is a treatment code of ISPM 15: HT, DH, MB, SF.
func IsTreatment(code string) bool { return IsFumigant(code) || code == "HT" || code == "DH" }

// Codes returns every code the grammar knows apart from countries, by class and
// text, each with meaning, source and status. The slice is the caller's.
func Codes() []Code {
	t := tables()
	out := make([]Code, 0, len(t.rows))
	for _, r := range t.rows {
		out = append(out, r.Code)
	}
	sortCodes(out)
	return out
}

// sortCodes gives lists of codes one order, so that two readings of one mark are
// equal whatever the order of its lines.
func sortCodes(codes []Code) {
	slices.SortFunc(codes, func(a, b Code) int {
		return cmp.Or(strings.Compare(string(a.Class), string(b.Class)), strings.Compare(a.Text, b.Text))
	})
}
