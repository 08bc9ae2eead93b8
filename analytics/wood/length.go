package wood

// Length is a distance in whole nanometres, in the manner of time.Duration.
// Both 1/64 in (396,875 nm) and 1 µm are exact, so sums of shop fractions
// compare with ==. The inch is exactly 25.4 mm (international yard and pound
// agreement, 1959).
type Length int64

// Units of length.
const (
	Nanometre  Length = 1
	Micrometre        = 1_000 * Nanometre
	Millimetre        = 1_000 * Micrometre
	Centimetre        = 10 * Millimetre
	Metre             = 1_000 * Millimetre
	Inch              = 25_400 * Micrometre
	Foot              = 12 * Inch
)

// Inches returns the length in inches.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// Millimetres returns the length in millimetres.
func (l Length) Millimetres() float64 { return float64(l) / float64(Millimetre) }

// Metres returns the length in metres.
func (l Length) Metres() float64 { return float64(l) / float64(Metre) }

// Unit is the unit a keeper reads and types lengths in.
type Unit string

// The units in which a bare number is read and a length printed.
const (
	UnitInch       Unit = "in"
	UnitMillimetre Unit = "mm"
)
