package db

import (
	"crypto/sha256"
	"encoding/binary"
	"fmt"
	"regexp"
	"strings"

	"github.com/google/uuid"
)

// crayonAlphabet has no 0, O, 1, I or L: a wax crayon on rough wood does not
// tell them apart. It has 31 letters, a prime, which the check letter needs.
const crayonAlphabet = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"

// crayonLetters is how many letters of a lot's code are free; one more checks them.
const crayonLetters = 4

// crayonCode makes the short code written on a lot from its id, so that a
// phone without signal and the book arrive at the same one. attempt counts
// up when a code is taken.
func crayonCode(id uuid.UUID, attempt int) string {
	var seed [24]byte
	copy(seed[:], id[:])
	binary.BigEndian.PutUint64(seed[16:], uint64(attempt))
	sum := sha256.Sum256(seed[:])
	n := binary.BigEndian.Uint64(sum[:8])
	letters := make([]byte, crayonLetters, crayonLetters+1)
	for i := range letters {
		letters[i] = crayonAlphabet[n%uint64(len(crayonAlphabet))]
		n /= uint64(len(crayonAlphabet))
	}
	return string(append(letters, checkLetter(string(letters))))
}

// checkLetter weighs the letters by place 1, 2, 3 … modulo 31. Since 31 is
// prime, every single wrong letter and every swap of two letters changes it.
func checkLetter(letters string) byte {
	sum := 0
	for i := range len(letters) {
		sum += (i + 1) * strings.IndexByte(crayonAlphabet, letters[i])
	}
	return crayonAlphabet[sum%len(crayonAlphabet)]
}

// boardCode numbers a board of a lot: K7MW3-12.
func boardCode(lotCode string, n int) string { return fmt.Sprintf("%s-%d", lotCode, n) }

var (
	lotCodeShape   = regexp.MustCompile(`^[2-9A-HJKMNP-Z]{5}$`)
	boardCodeShape = regexp.MustCompile(`^([2-9A-HJKMNP-Z]{5})-[0-9]{1,6}[a-z0-9.]{0,20}$`)
)

// normalCode checks a code that was typed and returns it as it is stored.
func normalCode(text string, board bool) (string, *FieldError) {
	lot, rest, _ := strings.Cut(strings.ReplaceAll(text, " ", ""), "-")
	lot = strings.ToUpper(lot)
	code := lot
	if rest != "" {
		code += "-" + strings.ToLower(rest)
	}
	shape, like := lotCodeShape, "K7MW with its check letter"
	if board {
		shape, like = boardCodeShape, "the lot's code, a hyphen and a number"
	}
	if !shape.MatchString(code) {
		return "", fault("does not look like a code of the book", "write "+like+", or put it in the column label")
	}
	if want := checkLetter(lot[:crayonLetters]); lot[crayonLetters] != want {
		return "", fault("has the check letter %c where %c would follow from the others", "look again at each letter", lot[crayonLetters], want)
	}
	return code, nil
}
