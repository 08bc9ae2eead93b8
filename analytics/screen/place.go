package screen

import (
	"regexp"
	"strconv"
	"strings"
	"unicode"
)

// maxPlaceBytes bounds the code of a board.
const maxPlaceBytes = 60

const months = `(jan(uary)?|feb(ruary)?|mar(ch)?|apr(il)?|may|june?|july?|aug(ust)?|sept?(ember)?|oct(ober)?|nov(ember)?|dec(ember)?)`

// Days as people write them where a board's code is wanted: year first, year
// last, eight digits, and with the month as a word.
var (
	yearFirst = regexp.MustCompile(`^\d{4}[-./ ]\d{1,2}[-./ ]\d{1,2}(\D|$)`)
	yearLast  = regexp.MustCompile(`^\d{1,2}[-./ ]\d{1,2}[-./ ](\d{4}|\d{2})(\D|$)`)
	allDigits = regexp.MustCompile(`^(19|20)\d\d(\d\d)(\d\d)$`)
	monthWord = regexp.MustCompile(`(?i)^(\d{1,2}(st|nd|rd|th|\.)? ?)?` + months + `\.? \d{1,4}\b|^\d{1,2}(st|nd|rd|th|\.)? ?` + months + `\b`)
	dayWord   = regexp.MustCompile(`(?i)^(today|yesterday|now)$`)
)

// CheckPlace says whether a Finding.On can name a piece of wood: "", "lot",
// "board", or the code of a board. A day written there would make a board of its
// own and part the findings, so it is refused. The error is a *FindingError that
// wraps ErrDayAsPlace or ErrBadPlace.
func CheckPlace(on string) error {
	name := strings.Trim(on, space)
	switch {
	case name == "" && on == "":
		return nil
	case dayLike(name):
		return &FindingError{"on", "", clip(on), ErrDayAsPlace, `write the day as "at", and "lot" or a board's code as "on"`}
	case len(on) > maxPlaceBytes || !strings.ContainsFunc(name, func(r rune) bool { return unicode.IsLetter(r) || unicode.IsDigit(r) }),
		strings.ContainsFunc(on, unicode.IsControl):
		return &FindingError{"on", "", clip(on), ErrBadPlace, `write "lot", or a board's code of at most ` + strconv.Itoa(maxPlaceBytes) + ` bytes such as K7-2`}
	}
	return nil
}

// dayLike reports whether text reads as a day.
func dayLike(text string) bool {
	if m := allDigits.FindStringSubmatch(text); m != nil {
		month, _ := strconv.Atoi(m[2])
		day, _ := strconv.Atoi(m[3])
		return month >= 1 && month <= 12 && day >= 1 && day <= 31
	}
	return yearFirst.MatchString(text) || yearLast.MatchString(text) || monthWord.MatchString(text) || dayWord.MatchString(text)
}
