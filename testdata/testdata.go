// Package testdata embeds the published check values and the measured specimens, each row with its source, for tests and for what the
// programs show, and the invented firm of the demonstration.
package testdata

import "embed"

// Files holds published/, measured/, demo/, and what the last runs of the checks found, evidence/.
//
//go:embed published measured demo evidence/*.json
var Files embed.FS
