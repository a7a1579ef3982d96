package app

import (
	"net/url"

	"tacet/server/api"
)

// mountPages hangs the pages into the server: the one place where both meet.
func mountPages(*api.Server, *house, Config) {}

// surfacePage is the path of the page of a surface.
func surfacePage(job, surface string) string {
	return "/jobs/" + url.PathEscape(job) + "/surfaces/" + url.PathEscape(surface)
}
