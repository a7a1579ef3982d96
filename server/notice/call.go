package notice

import (
	"bytes"
	"context"
	"crypto/tls"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"time"

	"tacet/server/accounts"
)

// callTime bounds a whole call: the other side is to take what it is given and to think later.
const callTime = 15 * time.Second

// call is the JSON of a call. It names no people, and no home but by the id of the job.
type call struct {
	Notice  string      `json:"notice"` // the same when it is tried again
	Made    time.Time   `json:"made"`
	Company string      `json:"company"`
	Test    bool        `json:"test,omitempty"`
	Things  []callThing `json:"things"`
}

type callThing struct {
	Thing
	Link string `json:"link"`
}

// errGone is the answer of an address that wants no more calls.
var errGone = errors.New("the address answered that it is gone")

func (n *Notices) call(ctx context.Context, w accounts.NoticeWays, c call) error {
	body, err := json.Marshal(c)
	if err != nil {
		return err
	}
	ctx, cancel := context.WithTimeout(ctx, callTime)
	defer cancel()
	req, err := http.NewRequestWithContext(ctx, http.MethodPost, w.Hook, bytes.NewReader(body))
	if err != nil {
		return err
	}
	req.Header.Set("Content-Type", "application/json")
	req.Header.Set("User-Agent", "tacet")
	sign(req, body, w.HookKey, c.Company, n.now())
	// One connection for one call, no proxy and no way on: what is called is what was named.
	client := http.Client{
		Transport: &http.Transport{DialContext: n.dialer().DialContext, DisableKeepAlives: true, TLSHandshakeTimeout: connectTime, MaxResponseHeaderBytes: 64 << 10,
			TLSClientConfig: &tls.Config{MinVersion: tls.VersionTLS12, RootCAs: n.roots}},
		CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse },
	}
	res, err := client.Do(req)
	if err != nil {
		return err
	}
	_, err = io.Copy(io.Discard, io.LimitReader(res.Body, 64<<10))
	err = errors.Join(err, res.Body.Close())
	switch {
	case res.StatusCode == http.StatusGone:
		return errGone
	case res.StatusCode < 200 || res.StatusCode > 299:
		return fmt.Errorf("the address answered with status %d", res.StatusCode)
	}
	return err
}
