package ops_test

import (
	"errors"
	"fmt"
	"net/http"
	"net/http/httptest"
	"testing"

	"tacet/jobs"
	"tacet/server/ops"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

func TestAsk(t *testing.T) {
	for _, c := range []struct {
		name   string
		server string // value of the header that names our servers
		status int
		ok     bool
		is     error
	}{
		{"ready", "key", 200, true, nil},
		{"not ready", "key", 503, false, nil},
		{"a captive portal", "", 200, false, replica.ErrUnreachable},
	} {
		s := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, _ *http.Request) {
			if c.server != "" {
				w.Header().Set(wire.HeaderServer, c.server)
			}
			w.WriteHeader(c.status)
		}))
		err := ops.Ask(t.Context(), s.URL)
		s.Close()
		if (err == nil) != c.ok || c.is != nil && !errors.Is(err, c.is) {
			t.Errorf("%s: %v", c.name, err)
		}
		if err := ops.Ask(t.Context(), s.URL); !errors.Is(err, replica.ErrUnreachable) {
			t.Errorf("%s, stopped: %v", c.name, err)
		}
	}
	var in *jobs.InputError
	if err := ops.Ask(t.Context(), "file:///etc/passwd"); !errors.As(err, &in) {
		t.Errorf("an address that is none: %v", err)
	}
}

func ExampleLocal() {
	fmt.Println(ops.Local("http", "0.0.0.0:7410"))
	fmt.Println(ops.Local("https", "[::]:443"))
	fmt.Println(ops.Local("http", "192.0.2.4:80"))
	// Output:
	// http://127.0.0.1:7410
	// https://127.0.0.1:443
	// http://192.0.2.4:80
}
