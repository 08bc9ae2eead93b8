// Package screen turns what was found on a piece of salvaged wood into a
// verdict on its use in a beehive, and says why, on whose word, and what would
// change it.
//
// The rules are data (rules.json), and so are the kinds of finding people can
// record (kinds.json), the checks that may settle a hold (checks.json) and the
// cautions (cautions.json). Document puts them together with the tables that
// read marks into one JSON document, from which a small script reaches the same
// verdict without this package.
//
// # How findings combine
//
// Every finding yields facts. A choice yields "kind=value"; a number yields
// the band it falls in ("moisture=dry"); a text read off the wood yields the
// facts that package mark reads in it ("mark.code=HT"). A fact that no
// rule can read yields "kind=?", which holds the wood.
//
//  1. A rule fires once for every finding that yields a fact of its first
//     clause, if each further clause is met by some finding.
//  2. A lift answers one firing of one rule. It is met when every clause of the
//     lift is met by some finding that was not set aside, not dated in the
//     future, recorded on the same piece of wood or on a larger one it reaches,
//     and, for deeds and tests, not recorded before the day of what it answers.
//  3. A firing whose lift is met takes the verdict the lift names, or falls away.
//     Of several met lifts the mildest counts.
//  4. The worst verdict left decides.
//
// Rule S00, "nothing is known", fires always; only evidence of the treatment or
// of the history lifts it. So silence holds, and nothing reaches inside by
// default. A firing with verdict never, by the table or by house policy, has no
// lift: it falls only to a recorded misreading of the finding that fired it.
package screen
