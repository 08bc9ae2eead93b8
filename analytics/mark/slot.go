package mark

// itemKind is the part an item plays in a reading.
type itemKind int

const (
	itemCode     itemKind = iota // a known code
	itemCountry                  // two letters in the country's place
	itemProducer                 // a producer code in its place
	itemNumber                   // loose, holds a digit
	itemWord                     // loose, letters only
	itemLot                      // a date, or what follows LOT
	itemOwner                    // what follows words of ownership
	itemExtra                    // kept as text only
)

// item is one piece of meaning, taken from one or more tokens.
type item struct {
	kind    itemKind
	text    string
	row     *row // for itemCode
	alone   bool // nothing else stands in its part
	assumed bool // rests on an assumption
}

// option is one way to read a slot.
type option struct {
	items []item
	// assumed says what the option takes for granted; empty for what is typed.
	assumed string
	// blank options are what the reading itself shows where letters are worn;
	// they are not listed among the readings that fit.
	blank bool
}

// slot is a place in the text with the ways to read it, the most literal first.
// A slot with one option is no doubt at all.
type slot struct {
	options []option
	key     string // the place and what was typed there; empty for a sure one
	more    int    // ways that fit beyond those kept
	advice  string // where to look again
}

// listed returns the options that become readings.
func (s *slot) listed() []option {
	if len(s.options) > 1 && s.options[0].blank {
		return s.options[1:]
	}
	return s.options
}

// sure makes a slot that can be read in one way only.
func sure(items ...item) slot { return slot{options: []option{{items: items}}} }

// doubts are grounds to distrust the text as a whole.
type doubts struct {
	asked  bool // a question mark by itself
	worn   bool // a word without one legible letter
	prose  bool // more words than a mark holds
	denied bool // words such as "not"
	turned bool // direction marks
	cut    bool // text beyond MaxRunes
}

// any reports whether there is any ground.
func (d doubts) any() bool { return d != doubts{} }
