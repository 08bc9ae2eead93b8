package db

import (
	"testing"

	"github.com/stretchr/testify/require"
)

func TestBookSpeaksInTheWordsOfForms(t *testing.T) {
	t.Parallel()
	for _, c := range []struct{ kind, text, want string }{
		{"finding", "K7MWX: cargo tile", "K7MWX: What it carried: Tile or ceramics"},
		{"finding", "K7MWX: mark IPPC US-1234 HT", "K7MWX: Mark on the wood: IPPC US-1234 HT"},
		{"finding", "K7MWX: unheard of", "K7MWX: unheard: of"},
		{"defect", "K7MWX-1: nail_hole", "K7MWX-1: nail hole"},
		{"defect", "K7MWX-1: unheard", "K7MWX-1: unheard"},
		{"board", "K7MWX-1", "K7MWX-1"},
		{"source", "Crates: boxes", "Crates: boxes"},
		{"finding", "", ""},
	} {
		require.Equal(t, c.want, bookWords(c.kind, c.text))
	}
}
