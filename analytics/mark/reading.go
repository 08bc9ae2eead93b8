package mark

// Certainty says how well one field of a reading is known.
type Certainty string

// The four certainties. Every field of every reading carries one.
const (
	// CertaintyRead means every letter was legible and one value fits.
	CertaintyRead Certainty = "read"
	// CertaintyAssumed means a value fits only if something is assumed: a worn letter, a
	// look-alike, letters of another alphabet, parts put together across lines.
	// Where letters are worn or swapped the field itself stays empty and the
	// values that fit are in Readings.
	CertaintyAssumed Certainty = "assumed"
	// CertaintyContradictory means several values compete, or what stands in the
	// field's place is no value the tables know.
	CertaintyContradictory Certainty = "contradictory"
	// CertaintyMissing means nothing in the text speaks to the field.
	CertaintyMissing Certainty = "missing"
)

// The keys of Reading.Certainty.
const (
	FieldSymbol         = "symbol"
	FieldCountry        = "country"
	FieldProducer       = "producer"
	FieldTreatment      = "treatment"
	FieldDebarked       = "debarked"
	FieldKiln           = "kiln"
	FieldDunnage        = "dunnage"
	FieldRepair         = "repair"
	FieldAgency         = "agency"
	FieldLot            = "lot"
	FieldMoisture       = "moisture"
	FieldPreservative   = "preservative"
	FieldUseCategory    = "use_category"
	FieldOwnership      = "ownership"
	FieldCargo          = "cargo"
	FieldDangerousGoods = "dangerous_goods"
	FieldSpecies        = "species"
	FieldGrade          = "grade"
)

// Fields are the values of one structured mark. Slices are sorted and hold no
// value twice; empty means not read.
type Fields struct {
	// Symbol is the letters read for the symbol of the convention: "IPPC", or
	// "IPCC" as often misspelt. Empty: no symbol was typed.
	Symbol string `json:"symbol"`
	// Country is the two-letter code in the country's place if ISO 3166 gives it
	// to a country, gave it to one (retired), or sets it aside for private use
	// (such as the placeholder XX). A reserved code such as UK or EU leaves it
	// empty and stands in Extra.
	Country string `json:"country"`
	// CountryStatus is the standing of the code in the country's place, also
	// where Country is empty.
	CountryStatus CountryStatus `json:"country_status"`
	// Producer is the producer or treater code as typed, capitals, without spaces.
	Producer string `json:"producer"`
	// Treatments are treatment codes of ISPM 15: HT, DH, MB, SF.
	Treatments []string `json:"treatments"`
	// Unknown are words in a treatment's place that are no treatment code.
	Unknown []string `json:"unknown"`
	// Debarked is true for DB. It is no treatment.
	Debarked bool `json:"debarked"`
	// Kiln is the kiln word: KD, KD15, KD19, KD-HT, KD15-HT, KD19-HT.
	Kiln string `json:"kiln"`
	// Dunnage is true for DUN and for the older D before the treatment.
	Dunnage bool `json:"dunnage"`
	// Repair is true for words of repair or remanufacture.
	Repair bool `json:"repair"`
	// Agency is the initials or name beside the codes, when it is nothing else.
	Agency string `json:"agency"`
	// Lot is lot, control and other loose numbers and dates, joined by a space.
	Lot string `json:"lot"`
	// Moisture is the moisture class of a grade stamp when it was surfaced:
	// S-GRN, S-DRY, MC15, KD, KD15, KD19, AD. It says nothing about today.
	Moisture string `json:"moisture"`
	// Preservatives are preservative codes, as Preservative.Code.
	Preservatives []string `json:"preservatives"`
	// UseCategories are AWPA use categories (UC3B) or hazard classes (H3).
	UseCategories []string `json:"use_categories"`
	// Treated is true when any word says preservative-treated, or any
	// preservative or use category was read.
	Treated bool `json:"treated"`
	// Ownership is words that claim the wood for an owner, with the owner as typed.
	Ownership string `json:"ownership"`
	// Cargo are codes that tell of a cargo: CP1 to CP9.
	Cargo []string `json:"cargo"`
	// DangerousGoods are dangerous-goods codes: UN3359 and other UN numbers.
	DangerousGoods []string `json:"dangerous_goods"`
	// Species are species groups of a grade stamp, such as SPF.
	Species []string `json:"species"`
	// Grade are grade words of a grade stamp.
	Grade []string `json:"grade"`
	// GradeStamp is true when species, grade, moisture or kiln words show a
	// lumber grade stamp.
	GradeStamp bool `json:"grade_stamp"`
	// Extra is everything else that was read but has no field.
	Extra []string `json:"extra"`
}

// Reading is what a text typed off the wood says, with how sure each part is.
type Reading struct {
	// Text is the text as typed, cut at MaxRunes.
	Text string `json:"text"`
	Fields
	// CountryName is the short name of Country, or what a code without a country
	// in force stands for.
	CountryName string `json:"country_name"`
	// Complete is true when symbol, country, producer and treatment are all
	// there, the country is one of ISO 3166, and nothing among the four is in
	// doubt or contradicted.
	Complete bool `json:"complete"`
	// Codes are the codes read, each with its plain meaning, by class and text.
	Codes []Code `json:"codes"`
	// Certainty holds one value for every Field constant.
	Certainty map[string]Certainty `json:"certainty"`
	// Readings are all structured readings that fit, the most literal first; at
	// most MaxReadings. A verdict takes the worst of them. One entry: no doubt.
	// None: nothing was read.
	Readings []Alternative `json:"readings"`
	// More is how many further readings fit but are not listed. Every treatment,
	// preservative and use category that any reading holds is in a listed one.
	More int `json:"more"`
	// UnreadRunes is how many characters beyond MaxRunes were not read at all.
	UnreadRunes int `json:"unread_runes"`
	// Advice says what to look at next, most telling first.
	Advice []string `json:"advice"`
}

// Alternative is one structured reading that fits the text.
type Alternative struct {
	Fields
	// Assumed says, one sentence each, what this reading takes for granted.
	Assumed []string `json:"assumed"`
}

// Code is one code met in the text.
type Code struct {
	// Text is the code in its usual writing.
	Text string `json:"text"`
	// Meaning is the plain meaning, for a person who is no chemist.
	Meaning string `json:"meaning"`
	// Source says where the meaning comes from.
	Source string `json:"source"`
	// Status is how well the source was checked, "from memory" included.
	Status string `json:"status"`
	// Class is what sort of code it is.
	Class Class `json:"class"`
}

// Bounds of a reading.
const (
	// MaxRunes is how many characters are read; Reading.UnreadRunes counts the rest.
	MaxRunes = 4096
	// MaxReadings is how many readings are listed; Reading.More counts the rest.
	MaxReadings = 32
)
