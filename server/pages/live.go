package pages

import "github.com/gofiber/fiber/v2"

// Pages that are open learn at once that the record has something new: the browser listens to /live, which says how far the
// record goes and nothing else, and then asks for the page again as if somebody had reloaded it.

var _ = register(Page{Path: "/live", Roles: everybody, Get: getLive, When: func(d Deps) bool { return d.Live != nil }})

func getLive(v *visit) error {
	return v.deps.Live.Serve(v.c, v.who.Company, "person "+v.who.Person)
}

// position is how far the record goes before anything of it is read for the page; 0 where that is not known, so that the
// browser compares with nothing. An answer to a form can't be asked for again, so it does not listen.
func (v *visit) position() int64 {
	if v.deps.Live == nil || v.page.View == nil || v.c.Method() != fiber.MethodGet || v.who.Company == "" || v.who.Guest != "" {
		return 0
	}
	at, err := v.deps.Live.At(v.ctx, v.who.Company)
	if err != nil {
		return 0 // the page itself will meet the same trouble, or has no need of the record
	}
	return at
}
