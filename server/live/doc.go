// Package live tells whoever listens that a company's record has something new. It carries a position and nothing else: what
// is new is asked for on the usual way, so who may see what stays where it is decided.
//
//	hub.go       who listens, and how far each company's record goes
//	stream.go    one listener's stream of server-sent events
//	postgres.go  the same news among several servers on one PostgreSQL
//
// News are a hint. Whoever misses one, because a line was down or a server was not reached, sees it at the next look: pages
// look once a minute and devices twice, and every stream begins with the position, to be compared with the last one heard.
package live
