package demo

// place is a source with its truths.
type place struct {
	name, kind, cargo, contact, hours string
	// miles are there and back, minutes door to door.
	miles, minutes float64
	// pickups is how many drives the log holds, empty the chance of nothing.
	pickups int
	empty   float64
	// lots is the mean number of lots of a drive that brings something.
	lots float64
	// unit is what a lot usually is; boards how many boards one lot yields.
	unit   string
	boards float64
	// thick, wide and long are usual board sizes in inches.
	thick, wide, long []float64
	species           string
	// findings gives the findings of a lot: kind, value and note. day counts
	// from the start of the log.
	findings func(r *source, lot, day int) [][3]string
	// cost is cash paid, in the currency's units.
	cost float64
}

// places are the nine sources.
var places = []place{
	{
		name: "Quillmoss Tile", kind: "flooring", cargo: "ceramic tile", contact: "dock foreman", hours: "weekdays 7 to 15",
		miles: 9, minutes: 55, pickups: 14, empty: 0.08, lots: 3.9, unit: "crate", boards: 6,
		thick: []float64{0.75, 0.875}, wide: []float64{5.5, 7.25, 3.5}, long: []float64{48, 60, 40}, species: "spruce_norway",
		findings: func(r *source, lot, _ int) [][3]string {
			if lot%9 == 4 {
				return [][3]string{{"mark", "IPPC CN-0417 MB", ""}, {"cargo", "tile", ""}, {"odour", "fresh", ""}}
			}
			return [][3]string{{"mark", r.pick("IPPC PL-2231 HT", "IPPC IT-08-114 / HT", "IPPC ES-1307 HT"), ""}, {"cargo", "tile", ""}, {"look", "clean", ""}}
		},
	},
	{
		name: "Brindlewick Print", kind: "printer", cargo: "paper on pallets", contact: "the night shift", hours: "after 16",
		miles: 4, minutes: 35, pickups: 11, empty: 0.15, lots: 2.5, unit: "pallet", boards: 5,
		thick: []float64{0.625, 0.5}, wide: []float64{3.5, 5.5}, long: []float64{40, 48}, species: "pine_lodgepole",
		findings: func(*source, int, int) [][3]string {
			return [][3]string{{"mark_look", "none", ""}, {"shipper", "known_domestic", "paper mill in the next county, by the foreman"}, {"cargo", "furniture", "paper, counted with clean dry goods"}, {"look", "clean", ""}, {"odour", "fresh", ""}, {"statement", "shipper_and_cargo", "delivery note seen"}}
		},
	},
	{
		name: "Tarn & Thimble Brewery", kind: "brewery", cargo: "malt and bottles", contact: "brewer", hours: "Tuesdays",
		miles: 14, minutes: 80, pickups: 9, empty: 0.2, lots: 3, unit: "pallet", boards: 5, cost: 2,
		thick: []float64{0.625, 0.75}, wide: []float64{3.5, 5.5}, long: []float64{40, 48}, species: "oak_white",
		findings: func(_ *source, lot, _ int) [][3]string {
			if lot%3 == 1 {
				return [][3]string{{"ownership", "pool", ""}, {"mark", "IPPC US-3310 HT", ""}}
			}
			return [][3]string{{"mark", "IPPC US-3310 HT", ""}, {"species", "oak", ""}}
		},
	},
	{
		name: "Oxlip Pianos", kind: "instruments", cargo: "pianos", contact: "the owner", hours: "by telephone",
		miles: 46, minutes: 170, pickups: 8, empty: 0.4, lots: 1.8, unit: "crate", boards: 9,
		thick: []float64{0.875, 1}, wide: []float64{9.25, 7.25}, long: []float64{72, 60, 96}, species: "spruce_norway",
		findings: func(r *source, _, _ int) [][3]string {
			return [][3]string{{"mark", r.pick("IPPC AT-490221 HT", "IPPC CZ-1120 HT"), ""}, {"cargo", "furniture", "pianos"}, {"look", "clean", ""}}
		},
	},
	{
		name: "Copperfen Electric", kind: "electrical", cargo: "switchgear", contact: "stores clerk", hours: "weekdays 8 to 16",
		miles: 11, minutes: 60, pickups: 9, empty: 0.12, lots: 2.7, unit: "crate", boards: 5,
		thick: []float64{0.75}, wide: []float64{3.5, 5.5}, long: []float64{36, 48}, species: "pine_lodgepole",
		findings: func(r *source, lot, _ int) [][3]string {
			if lot%4 == 2 {
				return [][3]string{{"material", "plywood", ""}, {"cargo", "machines", ""}}
			}
			return [][3]string{{"mark", r.pick("IPPC SE-0907 HT", "IPPC US-1234 HT"), ""}, {"cargo", "machines", ""}}
		},
	},
	{
		name: "Meadowsnare Feed", kind: "farm supply", cargo: "feed and fertiliser", contact: "yard hand", hours: "Saturdays",
		miles: 7, minutes: 45, pickups: 7, empty: 0.1, lots: 3.2, unit: "pallet", boards: 4,
		thick: []float64{0.625}, wide: []float64{3.5, 5.5}, long: []float64{40}, species: "",
		findings: func(_ *source, lot, _ int) [][3]string {
			if lot%2 == 0 {
				return [][3]string{{"cargo", "fertiliser", ""}, {"stain", "crust", ""}}
			}
			return [][3]string{{"cargo", "feed", ""}, {"mark", "IPPC US-8842 HT", ""}}
		},
	},
	{
		name: "Larkspindle Hardware", kind: "hardware", cargo: "tools and fittings", contact: "the manager", hours: "weekdays 9 to 17",
		miles: 6, minutes: 50, pickups: 9, empty: 0.15, lots: 3.2, unit: "pallet", boards: 5,
		thick: []float64{0.625, 0.75}, wide: []float64{3.5, 5.5}, long: []float64{40, 48}, species: "",
		findings: func(_ *source, lot, _ int) [][3]string {
			switch lot % 3 {
			case 0:
				return [][3]string{{"mark", "IPPC ?S-10?3 H?", ""}, {"mark_look", "worn", ""}, {"cargo", "steel", ""}}
			case 1:
				return [][3]string{{"mark", "IPPC GB-FC0204 HT", ""}, {"cargo", "steel", ""}}
			default:
				return [][3]string{{"mark_look", "none", ""}, {"cargo", "unknown", ""}}
			}
		},
	},
	{
		name: "Fernquay Garden Centre", kind: "garden trade", cargo: "pots and fencing", contact: "delivery desk", hours: "mornings",
		miles: 8, minutes: 50, pickups: 8, empty: 0.1, lots: 3, unit: "pallet", boards: 5,
		thick: []float64{0.75}, wide: []float64{3.5, 5.5}, long: []float64{48, 40}, species: "pine_scots",
		findings: func(r *source, lot, day int) [][3]string {
			if day > springDay {
				if lot%2 == 0 {
					return [][3]string{{"tint", "blue_green_dip", ""}, {"mark", "IPPC NL-305 HT", ""}}
				}
				return [][3]string{{"odour", "musty", ""}, {"mark", "IPPC NL-305 HT", ""}}
			}
			return [][3]string{{"mark", r.pick("IPPC NL-305 HT", "IPPC BE-118 HT"), ""}, {"cargo", "tile", "clay pots"}}
		},
	},
	{
		name: "Mothlight Machines", kind: "machinery", cargo: "machine tools", contact: "rigger", hours: "weekdays 6 to 14",
		miles: 38, minutes: 150, pickups: 6, empty: 0.25, lots: 2.3, unit: "dunnage", boards: 6, cost: 4,
		thick: []float64{1.5, 2}, wide: []float64{3.5, 5.5}, long: []float64{48, 60}, species: "",
		findings: func(_ *source, lot, _ int) [][3]string {
			if lot%2 == 0 {
				return [][3]string{{"stain", "oil", ""}, {"mark", "IPPC KR-017 HT DUN", ""}}
			}
			return [][3]string{{"mark", "IPPC KR-017 HT DUN", ""}, {"fumigation", "container", ""}}
		},
	},
}
