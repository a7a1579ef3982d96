package notice

import (
	"context"
	"fmt"
	"net"
	"net/netip"
	"syscall"
	"time"

	"tacet/jobs"
)

// connectTime bounds how long a connection may take to stand.
const connectTime = 10 * time.Second

// dialer connects to what a firm named. Whoever may name a server must not be able to have this one knock at its own machine or network, so
// addresses that are not on the open internet are refused, unless the operator allowed them. The address is looked at after the name was
// resolved, at the moment of connecting: a name that first leads elsewhere gains nothing.
func (n *Notices) dialer() *net.Dialer {
	d := &net.Dialer{Timeout: connectTime}
	if !n.private {
		d.ControlContext = func(_ context.Context, _, address string, _ syscall.RawConn) error { return onlyPublic(address) }
	}
	return d
}

// inside are networks that are not on the open internet and that the methods of an address do not tell: RFC 6598 (shared by providers), 6890
// (special), 2544 (benchmarks), 5737 and 3849 (documentation), 6052 and 3056 (ways from IPv6 back to IPv4).
var inside = prefixes("100.64.0.0/10", "192.0.0.0/24", "198.18.0.0/15", "192.0.2.0/24", "198.51.100.0/24", "203.0.113.0/24", "240.0.0.0/4", "0.0.0.0/8",
	"2001:db8::/32", "64:ff9b::/96", "64:ff9b:1::/48", "2002::/16", "100::/64", "2001::/23")

func prefixes(texts ...string) []netip.Prefix {
	var list []netip.Prefix
	for _, t := range texts {
		list = append(list, netip.MustParsePrefix(t))
	}
	return list
}

func onlyPublic(address string) error {
	at, err := netip.ParseAddrPort(address)
	if err != nil {
		return fmt.Errorf("read address %s: %w", address, err)
	}
	ip := at.Addr().Unmap().WithZone("")
	ok := ip.IsGlobalUnicast() && !ip.IsPrivate() && !ip.IsLoopback() && !ip.IsLinkLocalUnicast()
	for _, p := range inside {
		ok = ok && !p.Contains(ip)
	}
	if !ok {
		return &jobs.RuleError{Says: "this server sends no news to addresses inside its own network; its operator can allow it"}
	}
	return nil
}
