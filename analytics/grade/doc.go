// Package grade says what clear wood is in a board.
//
// A [Board] carries its [Defect]s: rectangles on its faces, measured as one
// stands before the board, x along the grain from the left end and y across
// from the near edge. From them the package computes
//
//   - the trade's measure of a board: [SurfaceMeasure], cutting units,
//     [BoardFeet];
//   - the most cutting units that a number of clear cuttings of a minimum size
//     can give, with a proof or a bound: [MaxCuttings];
//   - the standard hardwood grade, FAS to No. 3B Common, with the cuttings that
//     make it and a list of what was not judged: [Judge];
//   - the greatest clear volume in blanks for hive parts: [UsableVolume], over
//     the house's parts, [Parts].
//
// # What it is not
//
// Nothing here is a certified grade. A certified grade is given by a trained
// inspector who has the board in hand; this package sees only the rectangles
// that a person wrote down. [Report.Limits] names what it did not judge.
//
// # Sources
//
// Grades and measure: National Hardwood Lumber Association, Rules for the
// measurement and inspection of hardwood and cypress, editions 2011 and 2019,
// summary chart; Wengert G, Understanding hardwood lumber grading, Independent
// Sawmill and Woodlot, 1998; Forest Products Laboratory, Wood handbook,
// FPL-GTR-190, 2010, chapter 6. Single figures recalled and not read are marked
// "from memory" where they stand. Hive parts carry their source row by row.
package grade
