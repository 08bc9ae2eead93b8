package grade

import (
	_ "embed"
	"slices"
	"sync"

	"skepwood/analytics/wood"
)

// Zone is where in a hive a part goes.
type Zone string

// The zones.
const (
	// Inside parts touch bees or honey.
	Inside Zone = "inside"
	// Outside parts do not.
	Outside Zone = "outside"
)

// Size is a thickness, a width and a length.
type Size struct {
	Thickness, Width, Length wood.Length
}

// Part is one part of a kit.
type Part struct {
	Kit, Part string
	// Count is how many of it the kit needs.
	Count int
	// Finished is the size in the hive, Rough that of the blank. In the
	// house's table a blank is an eighth thicker, a quarter wider and an inch
	// longer (common practice, no source).
	Finished, Rough Size
	Zone            Zone
	// Faces is how many faces must be clear, 0 to 2. In the house's table it
	// is 2 for frame parts, whose stock is called clear, 1 for other inside
	// parts, the one towards the bees, and 0 for outside parts (common
	// practice, no source). Decay, metal and what goes through spoil any part.
	Faces int
	// Glue says that the part may be glued up edge to edge from narrow strips.
	Glue bool
	// Stock is the usual stock in words.
	Stock string
	// Status is "checked", "computed" or "memory", with its reach in
	// parentheses where it covers only some figures; Source names the page.
	Status, Source, Note string
}

// Kit is the parts of one component.
type Kit struct {
	Name  string
	Parts []Part
}

//go:embed hiveparts.csv
var hiveParts []byte

var houseParts = sync.OnceValues(func() ([]Part, error) { return ParseParts(hiveParts) })

// Parts returns the house's hive parts in the order of the table. The sizes
// are a start: published plans differ by up to 3/4 in, so a keeper's own sizes
// should take their place where they are known.
func Parts() []Part {
	parts, err := houseParts()
	if err != nil {
		// The table is part of the program and a test reads it.
		return nil
	}
	return slices.Clone(parts)
}

// Kits returns the house's kits, each with its parts, in the order of the
// table.
func Kits() []Kit { return kitsOf(Parts()) }

// kitsOf gathers parts by kit, keeping the order of first mention.
func kitsOf(parts []Part) []Kit {
	var kits []Kit
	place := map[string]int{}
	for _, p := range parts {
		i, ok := place[p.Kit]
		if !ok {
			i = len(kits)
			place[p.Kit] = i
			kits = append(kits, Kit{Name: p.Kit})
		}
		kits[i].Parts = append(kits[i].Parts, p)
	}
	return kits
}
