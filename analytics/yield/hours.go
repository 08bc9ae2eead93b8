package yield

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
	"time"
	"unicode"
)

// Hours are the times at which somebody is at a source, as a keeper noted them.
type Hours struct {
	// Open are the spans, on the days of the week in Days.
	Open []Span
	// Any says that the place may be called at any time, such as "by telephone".
	Any bool
}

// Span is a time of day on some days of the week, in minutes from midnight.
type Span struct {
	Days     [7]bool // by time.Weekday
	From, To int     // To > From, at most 24 hours
}

// Hours of a usual working day, for words that give only one end of it; common
// practice, no source.
const (
	usualFrom = 8 * 60
	usualTo   = 17 * 60
	dayEnd    = 24 * 60
)

// dayWords are the words for days of the week; whatever begins like one is one.
var dayWords = []struct {
	word string
	days []time.Weekday
}{
	{"weekday", []time.Weekday{1, 2, 3, 4, 5}}, {"weekend", []time.Weekday{6, 0}}, {"daily", []time.Weekday{0, 1, 2, 3, 4, 5, 6}},
	{"every", []time.Weekday{0, 1, 2, 3, 4, 5, 6}}, {"mon", []time.Weekday{1}}, {"tue", []time.Weekday{2}}, {"wed", []time.Weekday{3}},
	{"thu", []time.Weekday{4}}, {"fri", []time.Weekday{5}}, {"sat", []time.Weekday{6}}, {"sun", []time.Weekday{0}},
}

// ParseHours reads dock hours as people write them: "weekdays 7 to 15", "Tue,
// Thu 8:30-12", "after 16", "Saturdays", "mornings", "by telephone"; several of them
// with a semicolon between. Times are those of a 24-hour clock, or carry am or pm. The
// error wraps ErrHours and says what was not understood.
func ParseHours(text string) (Hours, error) {
	const longest = 200
	if len(text) > longest {
		return Hours{}, fmt.Errorf("%w: longer than %d letters: shorten it", ErrHours, longest)
	}
	var h Hours
	for part := range strings.SplitSeq(text, ";") {
		words := hourWords(part)
		if len(words) == 0 {
			continue
		}
		r := hoursReader{words: words}
		if err := r.read(); err != nil {
			return Hours{}, err
		}
		if r.any {
			h.Any = true
			continue
		}
		h.Open = append(h.Open, r.span())
	}
	if !h.Any && len(h.Open) == 0 {
		return Hours{}, fmt.Errorf("%w: nothing is written: enter days and times, such as weekdays 7 to 15", ErrHours)
	}
	return h, nil
}

// hourWords splits into words, numbers and dashes.
func hourWords(text string) []string {
	for _, dash := range []string{"–", "—", "-"} {
		text = strings.ReplaceAll(text, dash, " to ")
	}
	return strings.FieldsFunc(strings.ToLower(text), func(r rune) bool { return unicode.IsSpace(r) || r == ',' || r == '.' || r == '/' })
}

// hoursReader takes words one by one.
type hoursReader struct {
	words    []string
	days     [7]bool
	last     int // day of the week named last, −1 where none can begin a range
	some     bool
	from, to int // −1 where not said
	any      bool
}

func (r *hoursReader) read() error {
	r.from, r.to, r.last = -1, -1, -1
	for i := 0; i < len(r.words); i++ {
		w := r.words[i]
		at, minutes, isTime := r.clock(i)
		switch {
		case isTime && r.from < 0 && !r.before(i):
			r.from, i = minutes, at
		case isTime && r.to < 0:
			r.to, i = minutes, at
		case isTime:
			return fmt.Errorf("%w: %q is a third time: give one span, others behind a semicolon", ErrHours, w)
		case r.takeDays(i):
		case strings.HasPrefix(w, "morning"):
			r.from, r.to = usualFrom, 12*60
		case strings.HasPrefix(w, "afternoon"):
			r.from, r.to = 12*60, usualTo
		case strings.HasPrefix(w, "evening"):
			r.from, r.to = usualTo, 21*60
		case strings.HasPrefix(w, "telephone"), strings.HasPrefix(w, "phone"), w == "any", w == "anytime", strings.HasPrefix(w, "appointment"):
			r.any = true
		case slices.Contains([]string{"to", "until", "till", "and", "from", "after", "before", "at", "on", "by", "only", "days", "day", "time", "the", "in", "between", "h", "hours", "o'clock"}, w):
		default:
			return fmt.Errorf("%w: %q is not understood: write days and times, such as weekdays 7 to 15", ErrHours, w)
		}
	}
	switch {
	case r.any:
	case r.from >= 0 && r.to >= 0 && r.to <= r.from:
		return fmt.Errorf("%w: it ends before it begins: use a 24-hour clock, such as 7 to 15", ErrHours)
	case !r.some && r.from < 0 && r.to < 0:
		return fmt.Errorf("%w: neither a day nor a time: write them as weekdays 7 to 15", ErrHours)
	}
	return nil
}

// before reports whether the time at word i is an end alone: "before 10".
func (r *hoursReader) before(i int) bool {
	return i > 0 && slices.Contains([]string{"before", "until", "till"}, r.words[i-1])
}

// clock reads a time of day at word i: 7, 7:30, 7am, 7 am. at is its last word.
func (r *hoursReader) clock(i int) (at, minutes int, ok bool) {
	w, half := r.words[i], ""
	for _, suffix := range []string{"am", "pm"} {
		if rest, cut := strings.CutSuffix(w, suffix); cut && rest != "" {
			w, half = rest, suffix
		}
	}
	at = i
	if half == "" && i+1 < len(r.words) && (r.words[i+1] == "am" || r.words[i+1] == "pm") {
		half, at = r.words[i+1], i+1
	}
	hour, minute, split := strings.Cut(w, ":")
	h, err := strconv.Atoi(hour)
	m := 0
	if split && err == nil {
		m, err = strconv.Atoi(minute)
	}
	if err != nil || h < 0 || h > 24 || m < 0 || m > 59 || half != "" && (h < 1 || h > 12) {
		return i, 0, false
	}
	switch {
	case half == "am" && h == 12:
		h = 0
	case half == "pm" && h < 12:
		h += 12
	}
	if minutes = 60*h + m; minutes > dayEnd {
		return i, 0, false
	}
	return at, minutes, true
}

// takeDays reads a day or, after "to", a range of days at word i.
func (r *hoursReader) takeDays(i int) bool {
	for _, d := range dayWords {
		if !strings.HasPrefix(r.words[i], d.word) {
			continue
		}
		if r.last >= 0 && i > 0 && r.words[i-1] == "to" && len(d.days) == 1 {
			for day := r.last; day != int(d.days[0]); day = (day + 1) % 7 {
				r.days[day] = true
			}
		}
		for _, day := range d.days {
			r.days[day] = true
		}
		r.some, r.last = true, -1
		if len(d.days) == 1 {
			r.last = int(d.days[0])
		}
		return true
	}
	return false
}

// span fills in what was not said: every day, or the usual hours.
func (r *hoursReader) span() Span {
	s := Span{Days: r.days, From: r.from, To: r.to}
	if !r.some {
		s.Days = [7]bool{true, true, true, true, true, true, true}
	}
	switch {
	case s.From < 0 && s.To < 0:
		s.From, s.To = usualFrom, usualTo
	case s.To < 0:
		s.To = max(usualTo, min(s.From+3*60, dayEnd))
	case s.From < 0:
		s.From = min(usualFrom, max(0, s.To-3*60))
	}
	if s.To <= s.From { // "after 24"
		s.From, s.To = dayEnd-1, dayEnd
	}
	return s
}

// Call is a time at which somebody can be reached.
type Call struct{ From, To time.Time }

// Next returns the first time from now on at which somebody is there, in the zone
// of now: the rest of a span that is on, else the next one, within two weeks. Times at
// which any call will do begin now and last an hour.
func (h Hours) Next(now time.Time) (Call, bool) {
	if h.Any {
		return Call{now, now.Add(time.Hour)}, true
	}
	var best Call
	for ahead := range 15 {
		y, m, d := now.AddDate(0, 0, ahead).Date()
		for _, s := range h.Open {
			day := time.Date(y, m, d, 0, 0, 0, 0, now.Location())
			if !s.Days[day.Weekday()] {
				continue
			}
			call := Call{time.Date(y, m, d, 0, s.From, 0, 0, now.Location()), time.Date(y, m, d, 0, s.To, 0, 0, now.Location())}
			if !call.To.After(now) {
				continue
			}
			if call.From.Before(now) {
				call.From = now
			}
			if best.From.IsZero() || call.From.Before(best.From) {
				best = call
			}
		}
		if !best.From.IsZero() {
			return best, true
		}
	}
	return Call{}, false
}
