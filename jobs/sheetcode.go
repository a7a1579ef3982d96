package jobs

import (
	"crypto/sha256"
	"strings"
)

// crockford is the alphabet of readable codes: no I, L, O or U to take for something else.
const crockford = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"

// codeLength is the number of characters before the check character.
const codeLength = 12

// SheetCode returns the readable code of a surface's sheet: 12 characters that point at the surface and mean nothing else,
// and a check character. It is the same on every device, online or not.
func SheetCode(job, surface string) string {
	sum := sha256.Sum256([]byte("tacet sheet 1\n" + job + "\n" + strings.ToUpper(surface)))
	code := make([]byte, codeLength)
	for i := range code {
		code[i] = crockford[sum[i]&31]
	}
	return string(code) + string(checkCharacter(code))
}

// ParseSheetCode reads a code as people type it: in any letter case, with spaces or dashes, O for 0, I and L for 1. A
// wrong character and two swapped neighbours are always found.
func ParseSheetCode(typed string) (string, error) {
	var code []byte
	for _, c := range strings.ToUpper(typed) {
		switch c {
		case ' ', '-', '\t', '\n', '\r':
			continue
		case 'O':
			c = '0'
		case 'I', 'L':
			c = '1'
		}
		if c > 'Z' || strings.IndexByte(crockford, byte(c)) < 0 {
			return "", &InputError{Field: "code", Value: string(c), Range: "digits and letters without U"}
		}
		code = append(code, byte(c))
		if len(code) > codeLength+1 {
			break
		}
	}
	if len(code) != codeLength+1 {
		return "", &InputError{Field: "code", Value: itoa(len(code)) + " characters long", Range: "13 characters"}
	}
	if checkCharacter(code[:codeLength]) != code[codeLength] {
		return "", &InputError{Field: "code", Value: string(code), Hint: "it has a typing error; compare it with the sheet"}
	}
	return string(code), nil
}

// FormatSheetCode groups a code for reading: XXXX-XXXX-XXXX-X.
func FormatSheetCode(code string) string {
	if len(code) != codeLength+1 {
		return code
	}
	return code[:4] + "-" + code[4:8] + "-" + code[8:12] + "-" + code[12:]
}

// checkCharacter closes the code so that the sum of its characters, each times a different power of a generator of the
// field of 32 elements, is zero. No power is zero, so every changed character shows; neighbouring powers differ, so every
// swap of unequal neighbours shows, that with the check character included.
func checkCharacter(code []byte) byte {
	var sum byte
	for i, c := range code {
		v := byte(strings.IndexByte(crockford, c))
		for range len(code) - i {
			v = double(v)
		}
		sum ^= v
	}
	return crockford[sum]
}

// double multiplies by the generator x in the field of 32 elements made by x^5 + x^2 + 1.
func double(v byte) byte {
	v <<= 1
	if v&32 != 0 {
		v ^= 0b100101
	}
	return v
}
