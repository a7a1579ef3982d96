// Package notice tells people whose page is closed what waits for them: by mail over the firm's own server, and by a call to an address
// that the firm names.
//
// What is told is not a stream of events but what stands: each round looks at the jobs of every firm that wants news ([Things]), and tells
// each person, in one notice, of what they were not told of yet. So nothing is lost when a server is stopped, and what was answered in the
// meantime is not told at all. What somebody was told of, what is to be sent and how it went lie in the database: any number of servers may
// make rounds on it, and one of them sends. A server that dies after the mail server said yes and before it could note that sends the
// notice again, under the same id.
//
// A mail says which surface and layer it is about and has a link; whose home it is stands behind the link, after signing in. A call is
// signed by the HTTP message signatures of RFC 9421 with HMAC-SHA256.
//
// The map: things.go finds what there is to tell, rounds.go decides who is told and tries again, letter.go writes mails, mail.go sends
// them, call.go calls, signature.go signs, dial.go keeps both from reaching into the server's own network, ask.go asks a new
// address whether it is the right one.
package notice
