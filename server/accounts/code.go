package accounts

import (
	"crypto/sha256"
	"fmt"
	"io"
	"strings"
)

// crockford is base 32 without the letters that look like digits or like each other.
const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// newCode draws 80 random bits as four groups of four characters: 7Q2M-0XHB-D9KT-4RWA.
func newCode(rand io.Reader) (string, error) {
	raw := make([]byte, 16)
	if _, err := io.ReadFull(rand, raw); err != nil {
		return "", fmt.Errorf("draw a code: %w", err)
	}
	var b strings.Builder
	for i, r := range raw {
		if i > 0 && i%4 == 0 {
			b.WriteByte('-')
		}
		b.WriteByte(crockford[r&31]) // 5 of the 8 bits: 32 divides 256, so every character is equally likely
	}
	return b.String(), nil
}

// readCode undoes what people do to a code when they copy it: case, spaces, dashes, O for 0, I and L for 1. It is empty if the text
// can't be a code.
func readCode(text string) string {
	if len(text) > 64 {
		return ""
	}
	var b strings.Builder
	for _, r := range strings.ToUpper(text) {
		switch {
		case r == ' ' || r == '-':
			continue
		case r == 'O':
			r = '0'
		case r == 'I' || r == 'L':
			r = '1'
		}
		if !strings.ContainsRune(crockford, r) {
			return ""
		}
		b.WriteRune(r)
	}
	if b.Len() != 16 {
		return ""
	}
	return b.String()
}

// secretHash is what is stored of a code or token: they are random and long, so a plain hash can't be guessed back.
func secretHash(secret string) []byte {
	sum := sha256.Sum256([]byte(secret))
	return sum[:]
}
