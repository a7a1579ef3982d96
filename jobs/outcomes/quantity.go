package outcomes

import "tacet/jobs"

// lowerIsBetter is so for impact sound: measured above predicted is then worse than predicted.
func lowerIsBetter(quantity string) bool { return quantity == jobs.LnTw }
