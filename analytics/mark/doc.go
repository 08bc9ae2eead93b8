// Package mark reads what is stamped, branded or tagged on wood, as a person
// types it: the mark of ISPM 15 on packaging, grade stamps, preservative tags,
// words of ownership. It names every reading that fits and guesses none away.
//
// # Grammar
//
// Everything Read knows is data: codes.csv (codes and their writings),
// countries.csv (ISO 3166), fold.csv (characters), lookalikes.csv (signs taken
// for each other), withdrawals.csv and preservatives.csv. Each row names its
// source and whether it was checked. Document publishes the tables as one value,
// with the algorithm in steps (algorithm.txt).
//
//	text     = line { newline line }           order of lines does not matter
//	line     = part { "/" part }               also \ | , ; and drawn borders
//	part     = word { join word } | date
//	join     = spaces, dots, or a hyphen with or without spaces
//	word     = sign { sign }                   sign: letter, digit, or worn: ? _ *
//	mark     = [ symbol ] country producer treatment { extra }      ISPM 15 annex 2
//	symbol   = "IPPC"                          also the misspelling "IPCC"
//	country  = letter letter                   ISO 3166-1; retired and reserved named
//	producer = [ letters join ] number { "-" number | "-" letter }
//	number   = word with a digit in it
//	treatment= "HT" | "DH" | "MB" | "SF"
//	extra    = any other code of the table | agency | lot | date
//
// The parts of a mark may come in any order (people read stamps upside down),
// over one to three lines, with or without slashes: ISPM 15 lets the layout vary.
// A code may be written together or apart: KD-HT, KDHT, "KD HT", K.D.H.T.
//
// # How doubt is kept
//
// A place that can be read in several ways becomes a slot with options:
//
//   - a worn sign (M?) has an option for every code that fits;
//   - a word that is no code (MT, M8) has itself, and every code that one pair of
//     look-alikes away would be (HT, MB);
//   - a code that may also be a country and a producer (HT-12, MC-15), a code in
//     the producer's place (CA-MB 0001), a treatment glued to the producer
//     (12345HT), a country glued to it (US12345);
//   - a code after a denial ("no HT").
//
// Reading.Fields shows what is legible: of a slot with worn signs nothing, else
// what was typed. Reading.Readings lists the combinations of options, at most
// MaxReadings. When more fit, the list starts with readings that take the first,
// second, third ... option of every slot together: so every option of every
// slot is in some listed reading, and a verdict that takes the worst of them
// misses no treatment and no preservative. Letters of other alphabets, more
// words than a mark holds, a lone question mark, marks that turn the direction
// of text, and text beyond MaxRunes make every field assumed at best.
//
// A producer code may hold letters, so 1O23 is read as typed; 1023 is listed
// beside it and takes nothing from Reading.Complete.
package mark
