package main

import (
	"errors"
	"fmt"
	"net"
	"net/netip"
	"slices"
	"strconv"
)

// reach says who may reach the service.
type reach int

const (
	reachMachine   reach = iota // this machine
	reachLAN                    // this machine, and paired devices on the private network
	reachToken                  // this machine, and whoever has the token
	reachContainer              // whoever the container's published port lets through
)

// addresses returns where to listen, the machine's own address first.
func addresses(addr string, r reach) ([]netip.AddrPort, error) {
	at, err := parseAddr(addr)
	if err != nil {
		return nil, err
	}
	own := at.Addr().IsLoopback()
	switch {
	case r == reachContainer || r == reachToken:
		return []netip.AddrPort{at}, nil
	case r == reachMachine && own:
		return []netip.AddrPort{at}, nil
	case r == reachMachine:
		return nil, fmt.Errorf("--addr %s can be reached from other machines; add --lan to let paired phones in, name a --token-file, or use 127.0.0.1", addr)
	case own:
		return withPrivate(at)
	case at.Addr().IsUnspecified():
		return withPrivate(netip.AddrPortFrom(netip.MustParseAddr("127.0.0.1"), at.Port()))
	case !at.Addr().IsPrivate():
		return nil, fmt.Errorf("--addr %s is no address of a private network; --lan is for those only", addr)
	}
	return []netip.AddrPort{netip.AddrPortFrom(netip.MustParseAddr("127.0.0.1"), at.Port()), at}, nil
}

func parseAddr(addr string) (netip.AddrPort, error) {
	host, port, err := net.SplitHostPort(addr)
	n, perr := strconv.ParseUint(port, 10, 16)
	if err != nil || perr != nil {
		return netip.AddrPort{}, fmt.Errorf("--addr %q: give address and port, such as 127.0.0.1:8080", addr)
	}
	switch host {
	case "localhost":
		host = "127.0.0.1"
	case "":
		host = "0.0.0.0"
	}
	ip, err := netip.ParseAddr(host)
	if err != nil {
		return netip.AddrPort{}, fmt.Errorf("--addr %q: give the address in numbers, such as 127.0.0.1:8080", addr)
	}
	return netip.AddrPortFrom(ip.Unmap(), uint16(n)), nil
}

// withPrivate adds this machine's addresses on private networks (RFC 1918), the
// one that leads outside first: that is where a phone is.
func withPrivate(own netip.AddrPort) ([]netip.AddrPort, error) {
	all, err := net.InterfaceAddrs()
	if err != nil {
		return nil, fmt.Errorf("looking for the network: %w", err)
	}
	out := []netip.AddrPort{own}
	if ip, ok := outward(); ok {
		out = append(out, netip.AddrPortFrom(ip, own.Port()))
	}
	for _, a := range all {
		p, err := netip.ParsePrefix(a.String())
		if err != nil {
			continue
		}
		at := netip.AddrPortFrom(p.Addr().Unmap(), own.Port())
		if at.Addr().Is4() && at.Addr().IsPrivate() && !slices.Contains(out, at) {
			out = append(out, at)
		}
	}
	if len(out) == 1 {
		return nil, errors.New("--lan: this machine is in no private network; connect it to the one that the phone is in")
	}
	return out, nil
}

// ownAddresses are the addresses under which a service that listens at ip may be
// asked.
func ownAddresses(ip netip.Addr) []netip.Addr {
	if !ip.IsUnspecified() {
		return []netip.Addr{ip}
	}
	var out []netip.Addr
	all, _ := net.InterfaceAddrs() // none: then only as localhost
	for _, a := range all {
		if p, err := netip.ParsePrefix(a.String()); err == nil {
			out = append(out, p.Addr().Unmap())
		}
	}
	return out
}

// outward returns the private address from which this machine would speak to the
// outside. Nothing is sent: a UDP socket only looks up the route, here to an
// address reserved for documentation (RFC 5737).
func outward() (netip.Addr, bool) {
	c, err := net.Dial("udp4", "192.0.2.1:9")
	if err != nil {
		return netip.Addr{}, false
	}
	defer c.Close()
	at, err := netip.ParseAddrPort(c.LocalAddr().String())
	return at.Addr(), err == nil && at.Addr().IsPrivate()
}

// listen opens the addresses. Port 0 of the first becomes any free one, which
// the others share.
func listen(at []netip.AddrPort) (listeners []net.Listener, err error) {
	defer func() {
		if err != nil {
			for _, l := range listeners {
				_ = l.Close()
			}
		}
	}()
	port := at[0].Port()
	for _, a := range at {
		l, err := net.Listen("tcp", netip.AddrPortFrom(a.Addr(), port).String())
		if err != nil {
			return listeners, fmt.Errorf("cannot listen on %s; is another program using the port? Choose another with --addr: %w", a, err)
		}
		listeners = append(listeners, l)
		port = l.Addr().(*net.TCPAddr).AddrPort().Port()
	}
	return listeners, nil
}
