package outcomes

import "tacet/jobs"

// quantities in the order in which they are shown. Each is compared with itself only.
var quantities = []struct{ code, words string }{
	{jobs.DnTwCtr, "DnT,w + Ctr"},
	{jobs.DnTw, "DnT,w"},
	{jobs.LnTw, "L′nT,w"},
	{jobs.Rw, "Rw"},
}

func quantityWords(code string) string {
	for _, q := range quantities {
		if q.code == code {
			return q.words
		}
	}
	return code
}

// lowerIsBetter is so for impact sound: measured above predicted is then worse than predicted.
func lowerIsBetter(quantity string) bool { return quantity == jobs.LnTw }
