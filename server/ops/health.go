package ops

import (
	"context"
	"crypto/tls"
	"fmt"
	"net"
	"net/http"
	"net/url"
	"strings"
	"time"

	"tacet/acoustics"
	"tacet/sync/replica"
	"tacet/sync/wire"
)

// Ask asks the server at address whether it can serve requests. On this machine's own addresses the name in the certificate is not
// looked at, because it is the name that others know the server by.
func Ask(ctx context.Context, address string) error {
	u, err := url.Parse(address)
	if err != nil || u.Host == "" || u.Scheme != "http" && u.Scheme != "https" {
		return &acoustics.InputError{Field: "url", Value: address, Range: "an address such as http://127.0.0.1:7410"}
	}
	client := http.Client{Timeout: 5 * time.Second, Transport: &http.Transport{
		TLSClientConfig: &tls.Config{MinVersion: tls.VersionTLS12, InsecureSkipVerify: wire.Loopback(u.Hostname())},
	}}
	defer client.CloseIdleConnections()
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, strings.TrimRight(u.String(), "/")+"/readyz", nil)
	if err != nil {
		return fmt.Errorf("ask %s: %w", address, err)
	}
	res, err := client.Do(req)
	if err != nil {
		return fmt.Errorf("ask %s: %w: %w", address, replica.ErrUnreachable, err)
	}
	defer res.Body.Close()
	switch {
	case res.Header.Get(wire.HeaderServer) == "":
		return fmt.Errorf("what answers at %s is not a Tacet server: %w", address, replica.ErrUnreachable)
	case res.StatusCode != http.StatusOK:
		return fmt.Errorf("the server at %s is not ready (status %d); its log says why", address, res.StatusCode)
	}
	return nil
}

// Local is the address at which a server that listens on listen can be asked from this machine.
func Local(scheme, listen string) string {
	host, port, err := net.SplitHostPort(listen)
	if err != nil {
		return scheme + "://" + listen
	}
	if ip := net.ParseIP(host); host == "" || ip != nil && ip.IsUnspecified() {
		host = "127.0.0.1"
	}
	return scheme + "://" + net.JoinHostPort(host, port)
}
