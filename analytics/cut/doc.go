// Package cut plans how boards with defects are sawn into the parts that are
// wanted.
//
// # Model
//
// A board is a rectangle: x runs along the grain (length), y across it
// (width), in whole ticks. Defects are rectangles on the top face, the bottom
// face or through both. A part is a rectangle that is never rotated, because
// grain runs along its length, and that asks for two, one or no clear faces;
// a defect that goes through is never allowed under a part. Two neighbouring
// parts that a cut splits stand at least one kerf apart; nothing is lost at a
// board edge, and cuts may run through defects.
//
// # Patterns
//
// A [Pattern] says what a table saw and a mitre saw can do: [Rip2] rips the
// board into strips exactly as wide as their parts and crosscuts the strips;
// [Rip3] rips strips of any width, crosscuts them into segments exactly as
// long as their parts, then rips the segments; [Crosscut2] and [Crosscut3] are
// the same with the axes exchanged; [Rip2Trim] and [Crosscut2Trim] let a part
// be narrower than its strip; [Guillotine] allows any number of edge-to-edge
// cuts.
//
// # Method
//
// One board at given part prices is solved exactly by a dynamic programme over
// the positions that matter (Herz 1972 called them canonical; Beasley 1985
// normal). A batch is solved by column generation on its Lagrangian dual
// (Gilmore and Gomory 1961, 1963), whose optimum is the upper bound that every
// [Plan] carries; patterns whose loss against that bound is small are listed
// and combined, exactly where the list is complete, by local search where it
// is not: dives of the linear programme for many boards at a time, an exact
// search of whole boards for few, matching, which joins combinations of four
// lots of boards to the copy (Schroeppel and Shamir 1981), and cascades, which
// do so for all boards at once (Wagner 2002). Where what is lossless comes in
// twos or threes only, the bound takes off what an odd number must lose (Gomory
// 1969). [Check] is
// independent of all of it and passes every plan before [Solve] returns it.
//
// Everything here is a pure function of its arguments. Time enters only
// through the context: when it is done, the best plan so far and its bound are
// returned.
package cut
