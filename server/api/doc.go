// Package api is the server's HTTP side: the protocol of sync/wire, and what pages served over HTTPS need around them.
//
// Map: routes.go every route with who may use it; server.go the fiber app around them; auth.go who is it; body.go how much is read;
// problem.go errors as RFC 9457 documents; headers.go what every answer carries; web.go what keeps other sites' pages out (the client's
// local pages use it too); browser.go signing in with a browser; then one file for each thing that is served: hello.go, enrol.go, pin.go,
// push.go, pull.go, offer.go, access.go, photo.go, people.go, successor.go, takealong.go, live.go, health.go, openapi.go. address.go tells
// where a request came from.
//
// Two rules. The company comes from the token and never from the request, so what belongs to another company cannot even be asked for:
// it is not found. And a handler decodes, makes one call and answers; it decides nothing.
package api
