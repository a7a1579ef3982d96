package app

import (
	"context"
	"io"
	"os"
	"path/filepath"

	"github.com/alecthomas/kong"

	"tacet/server/commandline"
)

// commands is the whole command line.
type commands struct {
	Data     string `help:"Folder of the server's data: database, photos, keys. Several servers on one PostgreSQL share it." env:"TACET_DATA" default:"${data}" placeholder:"DIR"`
	Database string `help:"PostgreSQL to use in place of the SQLite file in the data folder: postgres://…" env:"TACET_DATABASE" placeholder:"DSN"`

	Ledger string `help:"Folder of the ledger of access, best on another disk than the data: what a restored database does not know is read from it. A folder in the data folder if left out." env:"TACET_LEDGER" placeholder:"DIR"`

	Version kong.VersionFlag `help:"Print the version."`

	Serve   serveCmd `cmd:"" help:"Serve devices and pages until stopped."`
	Company struct {
		Add  companyAddCmd  `cmd:"" help:"Add a company; prints its id."`
		List companyListCmd `cmd:"" help:"List the companies."`
	} `cmd:"" help:"Companies on this server."`
	User struct {
		Add      userAddCmd      `cmd:"" help:"Add a user of a company; the password comes on standard input."`
		List     userListCmd     `cmd:"" help:"List the users of a company."`
		Password userPasswordCmd `cmd:"" help:"Give a user another password, and end what they signed in to with the old one."`
		Role     userRoleCmd     `cmd:"" help:"Give a user another role, from the next request on."`
		End      userEndCmd      `cmd:"" help:"End a user's access, at once."`
		Back     userBackCmd     `cmd:"" name:"reinstate" help:"Give access back to a user whose access was ended."`
		Factor   userFactorCmd   `cmd:"" name:"drop-factor" help:"Take a user's second factor off, when their phone is lost."`
	} `cmd:"" help:"People of a company."`
	SetUp     setUpCmd     `cmd:"" help:"Make the first company and its owner with a set-up code; the password comes on standard input."`
	SetupCode setUpCodeCmd `cmd:"" help:"Make a new set-up code for a server that has no company; prints the code alone."`
	Keys      struct {
		Rotate keysRotateCmd `cmd:"" help:"Make a new key for access tokens; the one before is accepted until the next time."`
	} `cmd:"" help:"The server's keys."`
	EnrolCode enrolCodeCmd `cmd:"" help:"Make a one-time code with which a user enrols a device; prints the code alone."`
	Revoke    revokeCmd    `cmd:"" help:"Cut a device off, at once."`
	Device    struct {
		List deviceListCmd `cmd:"" help:"List the devices."`
	} `cmd:"" help:"Enrolled devices."`
	Access struct {
		List    accessListCmd    `cmd:"" help:"List who sees which jobs, where that was narrowed."`
		Narrow  accessNarrowCmd  `cmd:"" help:"Show a user only the jobs that are granted, and those that they began."`
		Widen   accessWidenCmd   `cmd:"" help:"Show a user all jobs again, but those that were taken away one by one."`
		Grant   accessGrantCmd   `cmd:"" help:"Give a user one job; their devices fetch all that was recorded in it."`
		Ungrant accessUngrantCmd `cmd:"" help:"Take one job away from a user; what is on their devices stays, marked as no longer updated."`
	} `cmd:"" help:"Who sees which jobs; unless narrowed, everybody sees all jobs of the company."`
	Aside struct {
		List   asideListCmd   `cmd:"" help:"List what could not enter the record: sent by devices after they were cut off."`
		Admit  asideAdmitCmd  `cmd:"" help:"Take a device's records into their places, up to a number; there they wait for a supervisor's answer."`
		Refuse asideRefuseCmd `cmd:"" help:"Take nothing more of a device. The records stay aside."`
		Import asideImportCmd `cmd:"" help:"Take in a file of unsent work that a phone saved because it could not send."`
	} `cmd:"" help:"What devices sent that were cut off."`
	Privacy struct {
		Export privacyExportCmd `cmd:"" help:"Write all that is held about a person into a zip file."`
		Erase  privacyEraseCmd  `cmd:"" help:"Erase what names a person, here and on every device at its next contact."`
		Old    privacyOldCmd    `cmd:"" help:"Count what about people is over its time, or erase it."`
		Times  privacyTimesCmd  `cmd:"" help:"List for how long what about people is kept, or set it."`
	} `cmd:"" help:"What is held about people."`
	Backup      backupCmd      `cmd:"" help:"Write database and photos into one new zip file, while the server runs."`
	Restore     restoreCmd     `cmd:"" help:"Put a backup in place, verified, in a data folder that has no database."`
	PeopleKeys  peopleKeysCmd  `cmd:"" name:"people-keys" help:"Take in the keys of what people said, from the file that a backup wrote."`
	Rebuild     rebuildCmd     `cmd:"" help:"Make the read tables anew from the entries."`
	Verify      verifyCmd      `cmd:"" help:"Check every hash, chain, seal and the log; exit 1 if anything was changed."`
	Doctor      doctorCmd      `cmd:"" help:"Look for what is wrong with this installation."`
	Healthcheck healthcheckCmd `cmd:"" help:"Ask the server on this machine whether it can serve."`
}

// run is what a command is run with.
type run struct {
	ctx    context.Context
	in     io.Reader
	out    io.Writer // data
	talk   io.Writer // everything else
	folder Folder
}

// Main runs the command line of this process and ends it. A test binary may register it as the command "server".
func Main() { os.Exit(Run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr)) }

// Run runs one command line and returns its exit code.
func Run(args []string, in io.Reader, out, talk io.Writer) int {
	var c commands
	return commandline.Run("server", &c, args, out, talk,
		func(ctx context.Context, parsed *kong.Context) error {
			return parsed.Run(&run{ctx: ctx, in: in, out: out, talk: talk, folder: Folder{Dir: c.Data, Database: c.Database, Ledger: c.Ledger}})
		},
		kong.Description("Tacet's server: takes in what the devices of a company record, hands it on, and serves the pages of its supervisors."),
		kong.Vars{"data": defaultData(), "version": commandline.Version()},
		kong.UsageOnError(),
	)
}

func defaultData() string {
	base, err := os.UserConfigDir()
	if err != nil {
		return "tacet-server"
	}
	return filepath.Join(base, "tacet-server")
}
