package yield

import "fmt"

// Merge returns the pickups with every trip to from counted as one to into; the
// slice given is left as it is. The error wraps ErrUnknownSource where from has no
// trip and ErrOption where the two are one.
func Merge(pickups []Pickup, from, into string) ([]Pickup, error) {
	if from == into || into == "" {
		return nil, fmt.Errorf("%w: merge %q into %q: name two sources", ErrOption, from, into)
	}
	kind, found := "", false
	for _, p := range pickups {
		if p.SourceID == into {
			kind = p.Kind
		}
		found = found || p.SourceID == from
	}
	if !found {
		return nil, fmt.Errorf("%w: %q has no trip to merge", ErrUnknownSource, from)
	}
	merged := make([]Pickup, len(pickups))
	for i, p := range pickups {
		if p.SourceID == from {
			p.SourceID = into
			if kind != "" {
				p.Kind = kind
			}
		}
		merged[i] = p
	}
	return merged, nil
}

// Split returns the pickups with the trips to source that take chooses counted
// as trips to the new source fresh; the slice given is left as it is. The error
// wraps ErrUnknownSource where no trip is chosen and ErrOption where fresh has
// trips already or no name.
func Split(pickups []Pickup, source, fresh string, take func(Pickup) bool) ([]Pickup, error) {
	if fresh == "" || fresh == source {
		return nil, fmt.Errorf("%w: split %q into %q: give the new source a name of its own", ErrOption, source, fresh)
	}
	split := make([]Pickup, len(pickups))
	chosen := 0
	for i, p := range pickups {
		if p.SourceID == fresh {
			return nil, fmt.Errorf("%w: %q has trips already: merge instead", ErrOption, fresh)
		}
		if p.SourceID == source && take(p) {
			p.SourceID = fresh
			chosen++
		}
		split[i] = p
	}
	if chosen == 0 {
		return nil, fmt.Errorf("%w: no trip to %q was chosen", ErrUnknownSource, source)
	}
	return split, nil
}
