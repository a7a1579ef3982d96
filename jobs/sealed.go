package jobs

import (
	"bytes"
	"crypto/aes"
	"crypto/cipher"
	"crypto/rand"
	"crypto/sha256"
	"encoding/base64"
	"fmt"
	"maps"
	"slices"
)

// What people who have no account said, who they are and where they live, and who is named in a note or as having done something, must be
// erasable for ever from a record of which nothing may change. So the fields that a kind marks `sealed` are enciphered before the entry is written, under a key that
// is drawn for this one record and never stands in the chain: it travels and is kept beside the entry. Hashes, chain and
// seals cover the cipher text and hold with the key and without it. Whoever throws the key away, on the server, on the
// devices, in the one file of keys, has erased the words wherever a copy of the record lies, old backups included. The keys of
// all records that name a person are that person's keys.

// Erased is what stands in place of words whose key was thrown away.
const Erased = "(erased)"

// Hidden is what stands in place of words that somebody is not shown.
const Hidden = "(not shown)"

// sealedPart is how the sealed fields stand in a body.
const sealedPart = "sealed"

// KeySize is the length of the key of a record's sealed words, in bytes.
const KeySize = 32

// seal moves the sealed fields of a body into its cipher text and returns the key; nil where there is nothing to seal.
func (k kind) seal(body map[string]any) ([]byte, error) {
	plain := map[string]any{}
	for _, key := range k.sealed {
		if v, ok := body[key]; ok && sealable(key, v) {
			plain[key] = v
			delete(body, key)
		}
	}
	if len(plain) == 0 {
		return nil, nil
	}
	text, err := Canonical(plain)
	if err != nil {
		return nil, err
	}
	key := make([]byte, KeySize)
	if _, err := rand.Read(key); err != nil {
		return nil, fmt.Errorf("draw a key: %w", err)
	}
	box, err := newBox(key)
	if err != nil {
		return nil, err
	}
	fields := []any{}
	for _, f := range slices.Sorted(maps.Keys(plain)) {
		fields = append(fields, f)
	}
	body[sealedPart] = map[string]any{
		"fields": fields,
		"key":    keyHash(key),
		"text":   base64.RawURLEncoding.EncodeToString(box.Seal(nil, noNonce, text, nil)),
	}
	return key, nil
}

// sealable tells whether the value of a field is words. An empty text is none, and neither is a person's id where it could be a name: the
// rules ask whose work it was, and a name is nobody's id for them, whether it can be read or not.
func sealable(key string, v any) bool {
	s, ok := v.(string)
	return ok && s != "" && !(key == "by" && isUUID(s))
}

// unreadable tells whether words stand for others that can't be read here.
func unreadable(s string) bool { return s == Erased || s == Hidden }

// unseal puts the sealed fields back into a body, or says in each that it was erased. It tells whether key opened them. What another program
// sealed and is no words reads as erased with the key too: the record says the same of the work with keys and without.
func (k kind) unseal(body map[string]any, key []byte) (opened bool) {
	sealed, ok := body[sealedPart].(map[string]any)
	if !ok {
		return false
	}
	delete(body, sealedPart)
	plain, instead := openSealed(sealed, key), Erased
	if key != nil && len(key) == 0 {
		instead = Hidden
	}
	fields, _ := sealed["fields"].([]any)
	for _, f := range fields {
		name, _ := f.(string)
		if !slices.Contains(k.sealed, name) {
			continue
		}
		body[name] = instead
		if v := plain[name]; sealable(name, v) {
			body[name] = v
		}
	}
	return plain != nil
}

func openSealed(sealed map[string]any, key []byte) map[string]any {
	// The body says which key opens it: nobody is given another key that opens it to other words.
	if said, _ := sealed["key"].(string); len(key) != KeySize || said != keyHash(key) {
		return nil
	}
	text, _ := sealed["text"].(string)
	raw, err := base64.RawURLEncoding.DecodeString(text)
	if err != nil {
		return nil
	}
	box, err := newBox(key)
	if err != nil {
		return nil
	}
	data, err := box.Open(nil, noNonce, raw, nil)
	if err != nil {
		return nil
	}
	tree, err := readTree(data)
	if err != nil {
		return nil
	}
	plain, _ := tree.(map[string]any)
	return plain
}

// noNonce may be the same always, because no key seals twice.
var noNonce = make([]byte, 12)

func newBox(key []byte) (cipher.AEAD, error) {
	block, err := aes.NewCipher(key)
	if err != nil {
		return nil, fmt.Errorf("seal: %w", err)
	}
	return cipher.NewGCM(block)
}

// WithoutWords is the job as somebody from outside may read it: all that was built and measured, and nothing of what people said or
// who they are.
func (j *Job) WithoutWords() *Job {
	es := j.Entries()
	for i := range es {
		if es[i].Key != nil && kinds[es[i].Kind].people {
			es[i].Key = []byte{}
		}
	}
	return Fold(j.ID, j.Company, es)
}

func keyHash(key []byte) string {
	sum := sha256.Sum256(append([]byte("tacet record key 1\n"), key...))
	return base64.RawURLEncoding.EncodeToString(sum[:])
}

// Sealed tells whether a part of the body is sealed, whether the key is here or not.
func (e Entry) Sealed() bool { return e.sealedPart() != nil }

// OpenedBy tells whether key opens what is sealed in the body.
func (e Entry) OpenedBy(key []byte) bool {
	if r := e.read; r != nil && r.opened && bytes.Equal(r.key, key) {
		return true // as was found out when the body was read
	}
	return openSealed(e.sealedPart(), key) != nil
}

func (e Entry) sealedPart() map[string]any {
	if e.Data == nil || !bytes.Contains(e.Data, []byte(`"`+sealedPart+`":{`)) {
		return nil // most bodies, and parsing costs more than looking
	}
	tree, err := readTree(e.Data)
	if err != nil {
		return nil
	}
	body, _ := tree.(map[string]any)
	sealed, _ := body[sealedPart].(map[string]any)
	return sealed
}

// SealedFields lists the fields of a kind that hold what people said and who they are.
func SealedFields(kind string) []string { return slices.Clone(kinds[kind].sealed) }
