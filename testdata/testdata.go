// Package testdata embeds the published check values and the measured specimens, each row with its source, for tests and for what the
// programs show, and the invented firm of the demonstration.
package testdata

import "embed"

// Files holds published/, measured/ and demo/.
//
//go:embed published measured demo
var Files embed.FS
