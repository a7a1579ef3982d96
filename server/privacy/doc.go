// Package privacy answers people who ask what a firm holds about them, and takes it away when they ask for that or its time is
// over: what the record says about them, what they recorded, their account, their devices, and who looked at it.
//
// What people said lies in the record sealed, each record under its own key (see package jobs). Erasing throws keys away; the
// record stays whole and provable. find.go searches, zip.go writes it out, erase.go erases, keep.go knows how long what is kept,
// daily.go takes away what goes by itself.
package privacy
