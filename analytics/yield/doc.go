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
// # Money
//
// All money inside is in minor units (cents) of one currency. Two currencies
// are never added: the error is [ErrCurrency] and says what to enter.
//
// # Wood that is still on hold
//
// A lot on hold is undecided: it counts neither as won nor as lost. Shares are
// taken over the decided volume only, and what a held lot may still bring is
// shown as a range.
//
// Everything here is a pure function of its arguments. Draws are used for the
// chance of being the best only, and they come from the given seed.
package yield
