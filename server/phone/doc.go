// Package phone makes a phone's browser a device of the record: it records for weeks without a signal, with a key of its own, in lanes of
// its own, and pushes and pulls what every other device does.
//
// The rules stay in Go. What a phone takes along of a job was worked out here, forms and sentences included; what it records is judged
// when it arrives, as from any device. The scripts are plain modules, served as they stand in app/; nothing is built.
//
//	serve.go     the routes: the page, the service worker, the manifest, the scripts under one version
//	icon.go      the icon, drawn here
//	unsent.go    takes in the file that a phone saved because it could not send
//	app/         the scripts: main.js begins, pen.js writes entries, exchange.js sends and fetches
//
// What a phone takes along of a job the pages make, in server/pages/takealong.go.
package phone
