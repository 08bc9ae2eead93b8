// Package yield turns a book of pickups into what each source is worth, how
// sure that is, and which drive to make next.
//
// # From plain to pooled
//
// [Value] prices one pickup with the rates of its own day; [PlainFigures] adds
// pickups up per source: net per pickup, per mile and per hour with n and an
// interval. [Fit] learns from all sources together: every source borrows from
// the others of its kind and of the book, the less the more trips it has, and
// the spread between sources is integrated by quadrature rather than plugged
// in. [Model.Answers] then says what the next trip to each source brings.
//
// # The parts of a trip
//
// A trip comes home with something or with nothing; what comes has a volume,
// about lognormal; of a load nothing may be usable, and of the others a share
// is, which splits into wood for inside and for outside; and all of it takes
// minutes. Each part is learnt by itself:
//
//	brings, usable at all   binomial chances, beta between sources  (chances)
//	log volume              normal between trips and sources        (tier)
//	share, part for inside  the same, as arc sine of the square root
//	minutes                 the same, as log of the ratio to a clock
//
// Time enters in two ways. Where the book shows that sources change, older
// trips count less (a memory, tried against none and averaged by the evidence);
// where it shows a season, the volume has a yearly wave. Kinds of business get
// means of their own where the book shows that they differ.
//
// # The forecast
//
// Given shares and pace, the net of a trip is a straight line in its volume. A
// forecast is therefore a mixture of a few such lines, and of an atom for the
// drives in vain; its quantiles are found exactly on that mixture. Where the atom
// fills one tail of an interval, the other tail takes what is left, so that a 90 %
// interval holds 90 % and not 95. Nothing is sampled; draws come from the given
// seed and serve the chance of being the best alone.
//
// # Before any trip
//
// Priors are weak and stand in fit.go and chances.go with what they mean. They
// are common practice without a source, made so that books of a few trips are
// covered honestly: nine outcomes in ten inside the 90 % interval over thousands of
// simulated books, whether the sources in them are much alike or not, and whether a
// source was seen five times, once or never (calibration_test.go).
//
// # Money
//
// All money inside is in minor units (cents) of one currency. Two currencies
// are never added: the error is [ErrCurrency] and says what to enter.
//
// # Wood that is still on hold
//
// A lot on hold is undecided: it counts neither as won nor as lost. Shares are
// taken over the decided volume only, a load of which nothing is usable so far counts
// as one of no use by as much of it as is decided, and what a held lot may still bring
// is shown as a range.
//
// Everything here is a pure function of its arguments, the same on every run.
package yield
