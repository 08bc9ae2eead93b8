package wood

// Celsius is a temperature in degrees Celsius.
type Celsius float64

// FromFahrenheit converts degrees Fahrenheit.
func FromFahrenheit(f float64) Celsius { return Celsius((f - 32) / 1.8) }

// Fahrenheit returns the temperature in degrees Fahrenheit.
func (c Celsius) Fahrenheit() float64 { return float64(c)*1.8 + 32 }

// Mass is a mass in kilograms.
type Mass float64

// Units of mass. The avoirdupois pound is exactly 0.45359237 kg (international
// yard and pound agreement, 1959).
const (
	Kilogram Mass = 1
	Gram          = Kilogram / 1000
	Pound         = 0.45359237 * Kilogram
	Ounce         = Pound / 16
)

// Kilograms returns the mass in kilograms.
func (m Mass) Kilograms() float64 { return float64(m) }

// Grams returns the mass in grams.
func (m Mass) Grams() float64 { return float64(m / Gram) }

// Pounds returns the mass in pounds.
func (m Mass) Pounds() float64 { return float64(m / Pound) }

// Density is mass per volume in kilograms per cubic metre. Wood's density
// depends on its moisture; mass and volume are both those at that moisture.
type Density float64

// KilogramsPerCubicMetre returns the density in kg/m³.
func (d Density) KilogramsPerCubicMetre() float64 { return float64(d) }

// PoundsPerCubicFoot returns the density in lb/ft³.
func (d Density) PoundsPerCubicFoot() float64 {
	return float64(d) * float64(CubicFoot) / float64(Pound)
}

// Volume is a volume in cubic metres.
type Volume float64

// Units of volume. A board foot is 144 cubic inches, exactly
// 0.002359737216 m³.
const (
	CubicMetre Volume = 1
	CubicInch         = 0.0254 * 0.0254 * 0.0254 * CubicMetre
	CubicFoot         = 1728 * CubicInch
	BoardFoot         = 144 * CubicInch
)

// VolumeOf returns the volume of a rectangular piece. It judges nothing: zero
// or negative sides give zero or negative volumes.
func VolumeOf(thickness, width, length Length) Volume {
	return Volume(thickness.Metres() * width.Metres() * length.Metres())
}

// FromBoardFeet returns the volume of bf board feet.
func FromBoardFeet(bf float64) Volume { return Volume(bf) * BoardFoot }

// CubicMetres returns the volume in cubic metres.
func (v Volume) CubicMetres() float64 { return float64(v) }

// CubicFeet returns the volume in cubic feet.
func (v Volume) CubicFeet() float64 { return float64(v / CubicFoot) }

// BoardFeet returns the volume in board feet of 144 cubic inches. This is the
// generic measure on the size given; the trades count by their own rules, see
// SoftwoodBoardFeet.
func (v Volume) BoardFeet() float64 { return float64(v / BoardFoot) }
