package app_test

import (
	"reflect"
	"testing"

	"tacet/server/app"
)

// Each flag of server serve changes what is served: one that is read and then forgotten would be a promise that nobody keeps.
func TestEveryFlagOfServeCounts(t *testing.T) {
	ca, _ := selfSigned(t, t.TempDir())
	given := map[string]string{"listen": "127.0.0.1:1", "tls-cert": "x", "tls-key": "x", "public-url": "https://x.example", "trusted-proxy": "10.0.0.0/24", "second-factor": "required",
		"metrics": "127.0.0.1:2", "photo-quota": "3", "notices-to-private": "true", "notices-ca": ca, "behind-tls": "true"}
	names, err := app.ServeFlags()
	if err != nil {
		t.Fatal(err)
	}
	usual, err := app.ServeConfig()
	if err != nil {
		t.Fatal(err)
	}
	if len(names) < len(given) {
		t.Errorf("%d flags, %d are tried", len(names), len(given))
	}
	for _, name := range names {
		c, err := app.ServeConfig("--" + name + "=" + given[name])
		if err != nil || reflect.DeepEqual(c, usual) {
			t.Errorf("--%s=%s changes nothing, %v", name, given[name], err)
		}
	}
}
