// Package wood holds what is true of wood whoever owns it: lengths and
// volumes, nominal sizes, species, density, shrinkage and equilibrium
// moisture.
//
// # Units
//
// A [Length] is whole nanometres, a [Volume] cubic metres, a [Mass] kilograms,
// a [Density] kilograms per cubic metre, temperature [Celsius]. Moisture
// content and relative humidity are plain percents: moisture of the oven-dry
// mass, so that it may exceed 100. Text in people's units is read by
// [ParseLength], [ParseMass], [ParseTemperature] and [ParsePercent].
//
// # Evidence
//
// Every figure of the embedded tables has a [Status] that says how well it is
// known: read on a page, confirmed by a second, computed from other figures,
// or recalled and never read. Functions that compute from such figures return
// the weakest status that went in. Numbers in square brackets in a source are
// keys of [Citation].
//
// # Errors
//
// Text that cannot be read gives a [*LengthError] or [*QuantityError]; a
// number outside what a formula covers gives a [*RangeError]; a species that
// is not in the table, or not unmistakably, gives a [*SpeciesError]; a figure
// that nobody has published gives [ErrUnknown]. Nothing panics on bad input.
package wood
