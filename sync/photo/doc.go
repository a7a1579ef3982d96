// Package photo takes pictures in and keeps them.
//
// Prepare (prepare.go) accepts JPEG and PNG by content, within limits that are checked before anything is decoded, turns
// the picture as its camera says, makes it small enough to send from a basement and writes it without metadata: no
// place, no device, no time. Dir (dir.go) keeps the result by its hash and implements replica.Blobs; part.go keeps the
// beginning of a photo that is on its way; files.go is what both ask of the disk; room.go (with room_*.go for
// each system) looks how much space is left; taken.go reads when a picture was taken.
package photo
