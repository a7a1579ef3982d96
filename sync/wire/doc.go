// Package wire is what client and server say to each other: JSON over HTTP, and the one table of errors.
//
// Batches and pages are frames, one JSON object a line, closed by a trailer that counts them. An answer without its
// trailer, without the Tacet-Server header, or of another media type (a captive portal says 200 too) is no
// connection, never a result.
//
//	frame.go     the frame, and reading and writing of streams of them; frame_scan.go reads most of them in one pass
//	batch.go     POST /v1/push there, and the answer back
//	page.go      GET /v1/pull
//	message.go   the small messages: hello, lanes, people, enrolment, sign-in
//	pin.go successor.go proof.go   PINs, a device that goes on under a new id, a device's signature under what it asks
//	news.go      the stream that says there is something new
//	http.go      replica.Transport over net/http; join.go enrols and signs in
//	problem.go   the one table: error -> exit code, HTTP status, problem type
package wire
