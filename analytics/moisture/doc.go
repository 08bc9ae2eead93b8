// Package moisture says what a moisture reading means, which wood is being
// read, and when a stack will be dry enough to build with.
//
// A day with it goes like this. A [Reading] is what the meter, the ohmmeter or
// the balance showed. [Correct] turns it into a [Corrected] percentage of
// oven-dry mass with a standard deviation, and lists every step with its
// source. [Fit] draws the drying curve through the corrected readings of a
// stack, starting from what is known of the species, the thickness, the season
// and the book's earlier stacks ([PriorFor], [Pool]); [Posterior.Ready] reads
// from it the dates before which the stack will not, will likely, and will
// almost surely be ready, or that it never will be in that air. [NewPlan] says
// how many boards to probe, and [Choose] which. [Ready] decides. [Guess] names
// the species an unknown board may be, with probabilities.
//
// # Units
//
// Moisture is percent of oven-dry mass, temperature degrees Celsius, humidity
// percent, time days, length millimetres, mass grams, resistance megohms.
// Rates are per day.
//
// # Sources
//
// Every table carries a source and a status: "checked" (two sources agree),
// "read" (one page), "derived" (computed from the other rows), "memory"
// (recalled, no page seen). The resistance table of electric meters and the
// air-drying times are "memory", and everything computed from them says so.
//
//   - James WL, 1988. Electric moisture meters for wood. FPL-GTR-6.
//   - Pfaff F, Garrahan P, 1986. Forest Products Journal 36(3):28-30.
//   - Forest Products Laboratory, 2010. Wood handbook. FPL-GTR-190, ch. 4, 13.
//   - Rietz RC, Page RH, 1971. Air drying of lumber. Agriculture Handbook 402.
//   - Simpson WT (ed.), 1991. Dry kiln operator's manual. Agr. Handbook 188.
//
// The package is pure: no clock, no input or output, no state that changes.
package moisture
