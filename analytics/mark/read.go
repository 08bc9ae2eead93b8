package mark

import "time"

func read(text string) Reading                                 { return Reading{Text: text} }
func isFumigant(code string) bool                              { return code == "MB" || code == "SF" }
func isTreatment(code string) bool                             { return isFumigant(code) || code == "HT" || code == "DH" }
func allCodes() []Code                                         { return nil }
func countryByCode(code string) (Country, bool)                { return Country{Code: code}, false }
func allCountries() []Country                                  { return nil }
func withdrawal(country string) (time.Time, string, bool)      { return time.Time{}, "", country == "" }
func allPreservatives() []Preservative                         { return nil }
func preservativeByCode(code string) (p Preservative, ok bool) { return p, code == "" }
func document() Grammar                                        { return Grammar{} }
