// Package testdata embeds the published check values and the measured specimens, each row with its source, for tests and for what the
// programs show.
package testdata

import "embed"

// Files holds published/ and measured/.
//
//go:embed published measured
var Files embed.FS
