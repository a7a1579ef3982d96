package app

import "tacet/server/api"

// mountPages hangs the pages into the server: the one place where both meet.
func mountPages(*api.Server, *house) error { return nil }
