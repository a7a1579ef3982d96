package pages

import (
	"context"
	"log/slog"
	"time"

	"github.com/gofiber/fiber/v2"

	"tacet/jobs"
	"tacet/server/accounts"
	"tacet/server/live"
	"tacet/server/notice"
	"tacet/sync/archive"
	"tacet/sync/replica"
)

// Program is which of the two programs hosts the pages.
type Program string

// The programs.
const (
	Client Program = "client"
	Server Program = "server"
)

// Deps is what a program passes in. What is marked optional may be left nil.
type Deps struct {
	Program Program
	Version string // of the program, for the foot of sheets and pages

	Record *replica.Replica
	Blobs  replica.Blobs // where new photos are kept: the replica's own

	// Who tells who asks. replica.ErrSignIn sends people to the sign-in page.
	Who func(c *fiber.Ctx) (Visitor, error)
	// Name is a person's name by id, "" where it is not known (any more). Optional: ids are then shown shortened.
	Name func(ctx context.Context, company, person string) string

	// Shown leaves out of a list the jobs that are kept from a visitor. Optional: nil where nothing is kept from anybody.
	Shown func(ctx context.Context, who Visitor, rows []replica.JobRow) ([]replica.JobRow, error)
	// SeesAll tells whether nothing is kept from a visitor. Optional, as Shown.
	SeesAll func(ctx context.Context, who Visitor) (bool, error)
	// Whole is a job with every entry, those that do not count included, for the timeline and the dispute file. Optional.
	Whole func(ctx context.Context, company, job string) (archive.Content, error)

	// Live tells open pages at once that there is something new. Optional: they look once a minute in any case.
	Live *live.Hub

	Now  func() time.Time // optional: time.Now
	Zone *time.Location   // in which times are shown; optional: UTC

	// SheetHost is the address that the codes on sheets lead to, such as https://office.example.org. Where it is empty
	// a sheet's code is the bare readable code.
	SheetHost string

	// Link tells how this device stands with the server, for the line on every page. Client only; optional.
	Link func(ctx context.Context) Link
	// Sync sends and fetches once, now. Client only: without it there is no "Send now".
	Sync func(ctx context.Context) error

	// SignIn checks login and password and leaves the session in the answer; an error is shown as a refusal. Without it
	// there is no sign-in page. SignOut ends the session.
	SignIn  func(c *fiber.Ctx, login, password string) error
	SignOut func(c *fiber.Ctx) error
	Pin     bool // what SignIn checks is a PIN

	// Accounts are who is who on a server, for the pages about people, devices and guests; without it there are none. Caller tells of a
	// request the cookie that it signed in with and the address that it came from; Invite leaves a guest's secret in the answer.
	Accounts *accounts.Accounts
	Caller   func(c *fiber.Ctx) (cookie, address string)
	Invite   func(c *fiber.Ctx, secret string, until time.Time)

	// Notices tell people whose page is closed. Server only; optional.
	Notices *notice.Notices

	Log *slog.Logger // for what went wrong here (status 500); optional: slog.Default()
}

// Visitor is who asks for a page.
type Visitor struct {
	Company string // id
	Firm    string // the company's name, printed on sheets; may be empty
	Person  string // id
	Name    string
	Role    jobs.Role

	Login string // on a server
	SetUp bool   // must set up a second factor before anything else
	Guest string // id of the one job that a guest may see; empty for people of the company
}

// Author is the visitor as the author of records.
func (v Visitor) Author() jobs.Author { return jobs.Author{Person: v.Person, Role: v.Role} }

// LinkState is how the device stands with its server.
type LinkState string

// The states of the link.
const (
	LinkAlone   LinkState = ""        // not joined to a server
	LinkDone    LinkState = "done"    // all sent and fetched, at Checked
	LinkSending LinkState = "sending" // an exchange is running
	LinkOffline LinkState = "offline" // no connection
	LinkSignIn  LinkState = "sign_in" // the device must sign in again
	LinkCutOff  LinkState = "cut_off" // the device was revoked
	LinkOld     LinkState = "old"     // this program is too old to send
	LinkTrouble LinkState = "trouble" // anything else that stops sending; Says tells
)

// Link is the state of the connection with what there is to say about it.
type Link struct {
	State   LinkState
	Checked time.Time // last successful exchange; zero: never
	Says    string    // one plain line from the program, may be empty
	Warn    []string  // what people should know before it stops them: space, clock, a copied device
}
