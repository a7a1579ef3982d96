package app_test

import (
	"crypto/ed25519"
	"reflect"
	"regexp"
	"testing"

	"tacet/server/accounts"
	"tacet/server/api"
	"tacet/server/pages"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// secretName is what a field is called that must not be shown to anybody by accident.
var secretName = regexp.MustCompile(`(?i)pass|secret|hash|token|key|^pin|sealed|cookie|cert|gen$`)

// oneTime is a code that opens something once: behind the accounts and in the protocol. On pages surfaces and checks have codes.
var oneTime = regexp.MustCompile(`(?i)code$`)

// meant are the fields with such a name that are meant to be seen, each with why.
var meant = map[string]string{
	// what an account's door gives to the program, by the functions named for it
	"Who.Key": "public key of a device", "Keys.Record": "the server's own", "Keys.Token": "the server's own", "Keys.Previous": "the server's own",
	"NewFactor.Secret": "shown once to the person whose it is", "MailServer.Password": "taken from a form and given to the mailer alone", "NoticeWays.HookKey": "signs what is called",
	// what the protocol carries to the one device whose it is
	"EnrolRequest.Code": "sent by the device", "EnrolRequest.PublicKey": "public", "EnrolAnswer.ServerKey": "public", "EnrolAnswer.Certificate": "of the device",
	"Tokens.AccessToken": "the sign-in itself", "Tokens.RefreshToken": "the sign-in itself", "SignInRequest.Password": "sent by the device", "RefreshRequest.RefreshToken": "sent by the device",
	"Hello.ServerKey": "public", "Hello.KeyID": "public", "DeviceKey.Key": "public key of a device", "EntryFrame.K": "opens what people said, for those who may read the record",
}

// Nothing that is secret can reach a page, an answer or a list by somebody adding a field: every struct that gets there is walked, and
// a field that sounds like a secret, or is a private key, has to be named above with why it is seen.
func TestNoSecretIsShown(t *testing.T) {
	var walk func(at reflect.Type, done map[reflect.Type]bool, protocol bool)
	fields, met := 0, map[string]bool{}
	walk = func(at reflect.Type, done map[reflect.Type]bool, protocol bool) {
		for at.Kind() == reflect.Pointer || at.Kind() == reflect.Slice || at.Kind() == reflect.Array || at.Kind() == reflect.Map {
			at = at.Elem()
		}
		if at.Kind() != reflect.Struct || done[at] || at.PkgPath() == "time" || at.PkgPath() == "math/big" {
			return
		}
		done[at] = true
		for i := range at.NumField() {
			f := at.Field(i)
			if f.Tag.Get("json") == "-" && protocol {
				continue
			}
			fields++
			name := at.Name() + "." + f.Name
			met[name] = true
			private := f.Type == reflect.TypeFor[ed25519.PrivateKey]()
			text := f.Type.Kind() == reflect.String || f.Type == reflect.TypeFor[[]byte]() || f.Type == reflect.TypeFor[ed25519.PublicKey]()
			if (private || text && (secretName.MatchString(f.Name) || protocol && oneTime.MatchString(f.Name))) && meant[name] == "" && !(f.PkgPath != "" && protocol) {
				t.Errorf("%s.%s sounds like a secret: keep it out, or say above why it is seen", at.PkgPath(), name)
			}
			walk(f.Type, done, protocol)
		}
	}
	views := map[reflect.Type]bool{}
	for _, p := range pages.Registered() {
		if p.View != nil {
			walk(reflect.TypeOf(p.View), views, false)
		}
	}
	doors := map[reflect.Type]bool{}
	for m := range reflect.TypeFor[*accounts.Accounts]().Methods() {
		for i := range m.Type.NumOut() {
			walk(m.Type.Out(i), doors, true)
		}
	}
	said := map[reflect.Type]bool{}
	for _, v := range []any{wire.Hello{}, wire.People{}, wire.EnrolAnswer{}, wire.EnrolRequest{}, wire.Tokens{}, wire.SignInRequest{}, wire.RefreshRequest{}, wire.Problem{}, wire.Frame{},
		replica.Lanes{}, replica.Answer{}, replica.Person{}, api.Rule{}} {
		walk(reflect.TypeOf(v), said, true)
	}
	for name := range meant {
		if !met[name] {
			t.Errorf("%s is no field any more: take it out of the list", name)
		}
	}
	if len(views) < 40 || fields < 300 {
		t.Errorf("only %d structs of pages and %d fields were walked", len(views), fields)
	}
	t.Logf("%d structs of pages, %d behind the accounts, %d of the protocol, %d fields", len(views), len(doors), len(said), fields)
}
