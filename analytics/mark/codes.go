package mark

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
func IsFumigant(code string) bool { return isFumigant(code) }

// IsTreatment reports whether code is a treatment code of ISPM 15: HT, DH, MB, SF.
func IsTreatment(code string) bool { return isTreatment(code) }

// Codes returns every code the grammar knows apart from countries, by class and
// text, each with meaning, source and status. The slice is the caller's.
func Codes() []Code { return allCodes() }
