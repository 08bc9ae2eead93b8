package server_test

import (
	"strings"
)

// wrong is a value that a column must refuse, and a part of what it says.
type wrong struct{ column, value, says string }

// long is text of n letters.
func long(n int) string { return strings.Repeat("w", n) }

// wrongText are the values that every free text refuses.
func wrongText(column string, most int) []wrong {
	return []wrong{
		{column, long(most + 1), "at most"},
		{column, "null\x00byte", "null byte"},
		{column, "bell\aring", "control character"},
		{column, "latin-1 \xfc", "UTF-8"},
	}
}

func init() {
	for kind, list := range wrongBuild {
		wrongValues[kind] = list
	}
}

// wrongValues are values that the columns of each kind of entry refuse, in
// forms and in sheets alike.
var wrongValues = map[string][]wrong{
	"source": join(
		[]wrong{{"name", "", "missing"}, {"name", "two\nlines", "several lines"}}, wrongText("name", 200), wrongText("kind", 100), wrongText("cargo", 500), wrongText("contact", 200),
		wrongText("phone", 100), wrongText("permission", 500), wrongText("hours", 200), wrongText("place", 500), wrongText("notes", 10000),
		[]wrong{
			{"latitude", "north", "not a number"}, {"latitude", "90.5", "outside"}, {"latitude", "NaN", "not a number"},
			{"longitude", "-181", "outside"}, {"longitude", "1e999", "not a number"},
			{"distance", "far", "not a number"}, {"distance", "-1", "negative"}, {"distance", "5001", "outside"},
		}),
	"pickup": join(
		[]wrong{
			{"source", "", "missing"}, {"source", "Nowhere Yard", "no source"}, {"source", long(301), "too long"}, {"source", "a\x00b", "null byte"},
			{"day", "", "missing"}, {"day", "3/4/2026", "can be"}, {"day", "2026-02-30", "not a day"}, {"day", "2026-03-20", "not happened"}, {"day", "1066-10-14", "outside"}, {"day", "Saturday", "not a day"},
			{"visit", "0", "outside"}, {"visit", "twice", "whole number"}, {"visit", "1.5", "whole number"},
			{"distance", "-1", "negative"}, {"distance", "a lot", "not a number"}, {"distance", "6000", "outside"},
			{"minutes", "-5", "negative"}, {"minutes", "4321", "outside"}, {"minutes", "1 hour", "not a number"}, {"minutes", "Inf", "not a number"},
			{"currency", "DOLLARS", "ISO 4217"}, {"currency", "$", "ISO 4217"},
			{"cost", "five", "amount of money"}, {"cost", "-1", "negative"}, {"cost", "1.234", "decimals"}, {"cost", "2000000000", "thousand million"},
			{"zone", "Mars/Base", "time zone"}, {"zone", "Local", "no place"}, {"zone", "../../etc/passwd", "time zone"},
			{"empty", "perhaps", "neither yes nor no"},
		}, wrongText("notes", 10000)),
	"lot": join(
		[]wrong{
			{"pickup", "", "missing"}, {"pickup", "the one in March", "name a pickup"}, {"pickup", "2026-02-01 Harbour Tile", "no pickup"}, {"pickup", long(301), "too long"},
			{"code", "2222A", "check letter"}, {"code", "O0I1L", "code of the book"}, {"code", "222", "code of the book"},
			{"kind", "", "missing"}, {"kind", "barrel", "not a known choice"},
			{"count", "0", "outside"}, {"count", "three", "whole number"}, {"count", "100001", "outside"}, {"count", "99999999999999999999", "whole number"},
			{"volume", "-1", "outside"}, {"volume", "much", "not a number"}, {"volume", "0", "outside"},
			{"usable_percent", "101", "outside"}, {"usable_percent", "half", "not a number"}, {"usable_percent", "-1", "negative"},
			{"broken", "-1", "outside"}, {"broken", "some", "whole number"},
			{"dismantle_minutes", "-1", "negative"}, {"dismantle_minutes", "100001", "outside"}, {"dismantle_minutes", "long", "not a number"},
		}, wrongText("label", 100), wrongText("place", 200), wrongText("notes", 10000)),
	"board": join(
		[]wrong{
			{"lot", "", "missing"}, {"lot", "ZZZZZ", "no lot"}, {"lot", long(301), "too long"},
			{"code", "2222A-1", "check letter"}, {"code", "board 7", "code of the book"},
			{"parent", "ZZZZZ-1", "no board"}, {"parent", long(301), "too long"},
			{"thickness", "", "missing"}, {"thickness", "thick", "5 1/2 in"}, {"thickness", "0", "zero"}, {"thickness", "-1", "5 1/2 in"}, {"thickness", "2 m", "more than"}, {"thickness", "6", "more than the width"},
			{"width", "", "missing"}, {"width", "5 apples", "5 1/2 in"}, {"width", "0 mm", "zero"}, {"width", "4 m", "more than"},
			{"length", "", "missing"}, {"length", "1,250", "5 1/2 in"}, {"length", "0", "zero"}, {"length", "15/16 in", "less than 1 in"}, {"length", "25 mm", "less than 1 in"}, {"length", "31 m", "more than"}, {"length", "1e30 m", "5 1/2 in"},
			{"species", "unobtainium", "species table"},
			{"left_trim", "some", "5 1/2 in"}, {"left_trim", "-1", "5 1/2 in"}, {"left_trim", "48", "leaves nothing"}, {"right_trim", "2 apples", "5 1/2 in"}, {"right_trim", "50", "leaves nothing"},
			{"layer", "0", "outside"}, {"layer", "top", "whole number"}, {"layer", "1001", "outside"},
			{"left_stack", "soon", "not a day"}, {"left_stack", "2026-03-20", "not happened"},
			{"species_guess", "pine", "share"}, {"species_guess", "unobtainium 50", "species table"}, {"species_guess", "pine_scots 60; spruce_norway 60", "add up"},
			{"stack", "No Such Stack", "no stack"}, {"stack", long(301), "too long"},
			{"state", "eaten", "not a known choice"}, {"metal", "perhaps", "not a known choice"}, {"looked_over", "perhaps", "neither yes nor no"},
		}, wrongText("label", 100), wrongText("place", 200), wrongText("notes", 10000)),
	"policy": join(
		[]wrong{
			{"setting", "", "missing"}, {"setting", "S99", "no rule"}, {"setting", "I02", "cannot be"},
			{"verdict", "", "missing"}, {"verdict", "perhaps", "not a known choice"}, {"verdict", "inside", "choose outside"},
		}, wrongText("note", 10000)),
	"climate": join(
		[]wrong{
			{"place", "", "missing"}, {"month", "", "missing"}, {"month", "13", "not a month"}, {"month", "Smarch", "not a month"},
			{"temperature", "", "missing"}, {"temperature", "mild", "not a temperature"}, {"temperature", "200 F", "temperature air has"},
			{"humidity", "", "missing"}, {"humidity", "101", "outside"}, {"humidity", "damp", "not a number"},
			{"first_day", "soon", "not a day"}, {"last_day", "3/4/2026", "can be"}, {"days", "32", "outside"}, {"days", "some", "whole number"},
			{"moisture", "31", "outside"}, {"moisture", "dry", "not a number"},
		}, wrongText("place", 200), wrongText("source", 300), wrongText("notes", 10000)),
	"move": join(
		[]wrong{
			{"stack", "", "missing"}, {"stack", "No Such Stack", "no stack"}, {"stack", long(301), "too long"},
			{"day", "", "missing"}, {"day", "3/4/2026", "can be"}, {"day", "2026-03-20", "not happened"}, {"day", "2026-01-01", "before the stack was stickered"},
			{"place", "", "missing"}, {"cover", "tent", "not a known choice"},
		}, wrongText("place", 200), wrongText("note", 10000)),
	"allowance": join(
		[]wrong{
			{"name", "", "missing"}, {"name", "patience", "not a known choice"}, {"size", "", "missing"}, {"size", "wide", "5 1/2 in"}, {"size", "-1", "5 1/2 in"}, {"size", "3 in", "more than 2 in"},
		}, wrongText("note", 10000)),
	"stack": join(
		[]wrong{
			{"zone", "roof", "not a known choice"}, {"season", "spring", "not a known choice"}, {"region", "moist", "not a known choice"},
			{"name", "", "missing"}, {"cover", "tent", "not a known choice"},
			{"stickered", "", "missing"}, {"stickered", "3/4/2026", "can be"}, {"stickered", "2026-03-20", "not happened"},
			{"taken_down", "soon", "not a day"}, {"taken_down", "1999-01-01", "before the day"},
			{"target", "3", "outside"}, {"target", "dry", "not a number"}, {"target", "31", "outside"},
			{"air_temperature", "warm", "not a temperature"}, {"air_temperature", "200 F", "temperature"},
			{"air_humidity", "101", "outside"}, {"air_humidity", "damp", "not a number"}, {"air_humidity", "-1", "negative"},
		}, wrongText("name", 200), wrongText("place", 200), wrongText("notes", 10000)),
	"finding": join(
		[]wrong{
			{"lot", "", "missing"}, {"lot", "ZZZZZ", "no lot"}, {"board", "ZZZZZ-1", "no board"}, {"board", long(301), "too long"},
			{"kind", "", "missing"}, {"kind", "vibe", "not a kind"}, {"value", "", "write it as found"},
			{"seen", "tomorrow", "not a day"}, {"seen", "2026-03-20", "not happened"}, {"seen", "3/4/2026", "can be"}, {"seen", "25:00", "not a day"},
		}, wrongText("value", 4096), wrongText("note", 10000)),
	"defect": join(
		[]wrong{
			{"board", "", "missing"}, {"board", "ZZZZZ-1", "no board"}, {"kind", "", "missing"}, {"kind", "hole", "not a known choice"}, {"face", "left", "not a known choice"},
			{"x", "-1", "5 1/2 in"}, {"x", "48", "past the end"}, {"x", "start", "5 1/2 in"}, {"y", "5 1/2", "past the far edge"}, {"y", "edge", "5 1/2 in"},
			{"dx", "", "missing"}, {"dx", "0", "zero"}, {"dx", "9000000 km", "5 1/2 in"}, {"dy", "", "missing"}, {"dy", "0", "zero"}, {"dy", "wide", "5 1/2 in"},
			{"metal", "rusty", "neither yes nor no"}, {"depth", "deep", "5 1/2 in"}, {"depth", "1", "more than the board is thick"}, {"depth", "0", "is zero"}, {"depth", "0 mm", "is zero"},
		}, wrongText("note", 10000), wrongText("pattern", 60)),
	"reading": join(
		[]wrong{
			{"board", "", "missing"}, {"board", "ZZZZZ-1", "no board"},
			{"taken", "noonish", "not a day"}, {"taken", "2026-03-20 10:00", "not happened"}, {"taken", "3/4/2026", "can be"}, {"taken", "1800-01-01", "outside"},
			{"raw", "", "missing"}, {"raw", "wet", "not a number"}, {"raw", "-1", "negative"}, {"raw", "401", "more water"}, {"raw", "1e999", "not a number"},
			{"mass", "heavy", "not a mass"}, {"mass", "0 g", "above 0"}, {"dry_mass", "-2 g", "above 0"}, {"dry_mass", "2000 kg", "at most 1000 kg"},
			{"method", "licking", "not a known choice"}, {"temperature", "hot", "not a temperature"}, {"temperature", "300 F", "temperature wood has"}, {"temperature", "-300 C", "temperature wood has"},
		}, wrongText("setting", 100), wrongText("place", 100), wrongText("note", 10000)),
	"setting": join(
		[]wrong{
			{"name", "", "missing"}, {"name", "price of fame", "not a known choice"},
			{"valid_from", "", "missing"}, {"valid_from", "1/2/2026", "can be"}, {"valid_from", "2300-01-01", "outside"},
			{"currency", "gold", "ISO 4217"}, {"amount", "", "missing"}, {"amount", "a dime", "not a number"}, {"amount", "-1", "negative"}, {"amount", "1000001", "outside"}, {"amount", "0.12345", "four decimals"},
		}, wrongText("note", 10000)),
	"keeper": join(
		[]wrong{
			{"name", "", "missing"}, {"length_unit", "cubits", "not a known choice"}, {"temperature_unit", "K", "not a known choice"}, {"distance_unit", "leagues", "not a known choice"},
			{"currency", "", "missing"}, {"currency", "gold", "ISO 4217"}, {"zone", "Atlantis/Centre", "time zone"},
			{"home_latitude", "north", "not a number"}, {"home_latitude", "91", "outside"}, {"home_longitude", "181", "outside"}, {"home_longitude", "0x10", "not a number"},
			{"road_factor", "0.9", "outside"}, {"road_factor", "5.1", "outside"}, {"road_factor", "winding", "not a number"}, {"vehicle", "big", "not a number"}, {"vehicle", "0", "outside"},
		}, wrongText("name", 200)),
}

func join(lists ...[]wrong) (out []wrong) {
	for _, l := range lists {
		out = append(out, l...)
	}
	return out
}
