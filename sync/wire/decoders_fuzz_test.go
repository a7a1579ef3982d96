package wire_test

import (
	"bytes"
	"testing"

	"tacet/acoustics"
	"tacet/sync/wire"
)

// What a server sends is read as carefully as what it gets: a captive portal answers too.
func FuzzReadPage(f *testing.F) {
	f.Add([]byte(`{"end":{"frames":0}}`))
	f.Add([]byte(`{"act":{"n":1,"act":"stand"}}` + "\n" + `{"end":{"frames":1}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		p, err := wire.ReadPage(bytes.NewReader(data))
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := wire.WritePage(&b, p); err != nil {
			return // a page that no server would write
		}
		back, err := wire.ReadPage(&b)
		if err != nil || len(back.Acts) != len(p.Acts) {
			t.Fatalf("what was read can't be read again: %v", err)
		}
	})
}

func FuzzReadAnswer(f *testing.F) {
	f.Add([]byte(`{"verdict":{"id":"x","state":"held","known":false,"n":1}}` + "\n" + `{"end":{"frames":1}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		a, err := wire.ReadAnswer(bytes.NewReader(data))
		if err != nil {
			return
		}
		var b bytes.Buffer
		if err := wire.WriteAnswer(&b, a); err != nil {
			t.Fatal(err)
		}
		back, err := wire.ReadAnswer(&b)
		if err != nil || len(back.Verdicts) != len(a.Verdicts) {
			t.Fatalf("what was read can't be read again: %v", err)
		}
	})
}

// The requests that strangers may send before anybody knows who they are.
func FuzzRequests(f *testing.F) {
	f.Add([]byte(`{"code":"x","device":"y","public_key":"AAAA","name":"z","proof":{"at":1,"sig":"AA"}}`))
	f.Add([]byte(`{"login":"x","password":"y","device":"z","proof":{"at":1,"sig":"AA"}}`))
	f.Add([]byte(`{"refresh_token":"x","device":"y","proof":{"at":9223372036854775807,"sig":""}}`))
	f.Add([]byte(`{"pin":"123456"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		var e wire.EnrolRequest
		if acoustics.Decode(data, &e) == nil {
			_, _ = e.Signed(e.Proof.At) // an error says that it can't be signed; a panic fails the test
		}
		var s wire.SignInRequest
		if acoustics.Decode(data, &s) == nil {
			_, _ = s.Signed(s.Proof.At)
		}
		var r wire.RefreshRequest
		if acoustics.Decode(data, &r) == nil {
			_, _ = r.Signed(r.Proof.At)
		}
		var p wire.PinSignInRequest
		if acoustics.Decode(data, &p) == nil {
			_, _ = p.Signed(p.Proof.At)
		}
	})
}
