package jobs

import (
	"reflect"
	"strings"
	"testing"

	"tacet/acoustics"
)

// scanned is an envelope with everything in it that one may hold.
const scanned = `{"blobs":["47DEQpj8HBSa-_TImW-5JCeuQeRkm5NMpJWZG3hSuFU","n4bQgYhMfWWaL-qgxVrQFaO_TxsrC4Is0V1sFbDwCgg"],"body":"47DEQpj8HBSa-_TImW-5JCeuQeRkm5NMpJWZG3hSuFU",` +
	`"by":"0197a000-0000-7000-8000-0000000a0001","clk":"0197a00000000001","co":"0197a000-0000-7000-8000-0000000c0001","dev":"0197a000-0000-7000-8000-0000000d0001",` +
	`"id":"0197a000-0000-7000-8000-0000000e0001","job":"0197a000-0000-7000-8000-0000000f0001","kind":"check","kv":1,"len":12,"off":-3,` +
	`"on":{"check":"K1","layer":3,"room":"R1","structure":"J1","surface":"C1"},"prev":"n4bQgYhMfWWaL-qgxVrQFaO_TxsrC4Is0V1sFbDwCgg",` +
	`"refs":[{"as":"over","h":"47DEQpj8HBSa-_TImW-5JCeuQeRkm5NMpJWZG3hSuFU"},{"as":"sees","h":"n4bQgYhMfWWaL-qgxVrQFaO_TxsrC4Is0V1sFbDwCgg"}],` +
	`"role":"site","run":9,"seen":{"epoch":"x","n":4},"seq":2,"v":1,"was":""}`

// The short way through an envelope reads what the long way reads, or leaves it to the long way: whatever byte is changed or cut out.
func TestEnvelopeScan(t *testing.T) {
	if e, ok := scanEnvelope([]byte(scanned)); !ok || e.On.Structure != "J1" || len(e.Refs) != 2 || len(e.Blobs) != 2 || e.Off != -3 {
		t.Fatalf("not read: %+v", e)
	}
	for _, part := range []string{`"refs":[{"as":"over","h":"47DEQpj8HBSa-_TImW-5JCeuQeRkm5NMpJWZG3hSuFU"},{"as":"sees","h":"n4bQgYhMfWWaL-qgxVrQFaO_TxsrC4Is0V1sFbDwCgg"}],`,
		`"check":"K1","layer":3,"room":"R1","structure":"J1",`, `"check":"K1","layer":3,"room":"R1","structure":"J1","surface":"C1"`} {
		if _, ok := scanEnvelope([]byte(strings.Replace(scanned, part, "", 1))); !ok {
			t.Errorf("not read without %s", part)
		}
	}
	tried, read := 0, 0
	try := func(env []byte) {
		tried++
		got, ok := scanEnvelope(env)
		if !ok {
			return
		}
		read++
		var want Envelope
		if err := acoustics.Decode(env, &want); err != nil || !reflect.DeepEqual(got, want) {
			t.Fatalf("%s\nread as %+v\nis      %+v, %v", env, got, want, err)
		}
	}
	for i := range scanned {
		for _, c := range []byte(" \"\\{}],:09-aZ\x7f\xff") {
			env := []byte(scanned)
			env[i] = c
			try(env)
			try([]byte(scanned[:i] + string(rune(c)) + scanned[i:]))
		}
		for n := 1; n <= 8 && i+n <= len(scanned); n++ {
			try([]byte(scanned[:i] + scanned[i+n:]))
		}
	}
	if read == 0 {
		t.Fatal("no changed envelope was read")
	}
	t.Logf("evidence: %d changed envelopes, %d of them read in one pass, all as the long way reads them", tried, read)
}
