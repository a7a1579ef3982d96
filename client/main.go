// Command client is Tacet on the installer's machine: it keeps the record of jobs in one folder, calculates, prints site
// sheets, serves the pages to the browser of this machine, and exchanges what was recorded with the company's server.
// Everything but the exchange works without a network.
//
// Map: main.go the command line and how a command ends, stdio.go where it reads and writes; then one file for each group of commands:
// calc.go with calc_*.go and evidence.go; job.go with show.go, record.go, archive.go, takeoff.go, sheet.go, pack.go and progress.go; queue.go, outcomes.go,
// conflicts.go; open.go with starting.go and pin.go; enrol.go, sync.go, status.go; care.go with doctor.go and backup.go; demo.go.
// Below it lie home/ (the folder of one device), runner/ (the loop that sends and fetches) and demo/ (an invented firm, played through
// the real path).
package main

import (
	"context"
	"errors"
	"io"
	"os"
	"path/filepath"

	"github.com/alecthomas/kong"

	"tacet/client/home"
	"tacet/server/commandline"
)

// commands is the whole command line.
type commands struct {
	Home    string           `help:"Folder of this device's record, photos and key. Several devices on one machine have a folder each." env:"TACET_HOME" default:"${home}" placeholder:"DIR"`
	Version kong.VersionFlag `help:"Print the version."`

	Calc      calcCmd      `cmd:"" help:"Calculate: JSON on standard input, JSON on standard output; no record is touched."`
	Materials materialsCmd `cmd:"" help:"List the generic materials, with spread and source, and every default."`
	Evidence  evidenceCmd  `cmd:"" help:"Show what the claims rest on: published values, measured build-ups, and what the last runs of the checks counted."`

	Job struct {
		Import  jobImportCmd  `cmd:"" help:"Take in a job from a JSON file; prints its id."`
		List    jobListCmd    `cmd:"" help:"List the jobs."`
		Show    jobShowCmd    `cmd:"" help:"Show a job: specified, achieved, predicted; layers and checks."`
		Export  jobExportCmd  `cmd:"" help:"Print the settled state as canonical JSON."`
		History jobHistoryCmd `cmd:"" help:"Print every entry of a job, in order."`
		Archive archiveCmd    `cmd:"" help:"Write a job into one zip file: entries, photos, sheets, timeline, manifest."`
	} `cmd:"" help:"Jobs on this device."`
	Record recordCmd `cmd:"" help:"Record work on a job; prints the entry ids once they are safe on disk."`

	Queue queueCmd `cmd:"" help:"List what waits for the supervisor on all jobs, by the planned time of covering."`
	Due   dueCmd   `cmd:"" help:"List the clients that have to be asked after the work: 1, 3 and 12 months after handover."`

	Outcomes outcomesCmd `cmd:"" help:"Say what the build-ups of all jobs did: predicted against measured, complaints, each with n and interval."`

	Takeoff  takeoffCmd  `cmd:"" help:"Say what to order for a job, with weights, against what was delivered."`
	BuildUps buildUpsCmd `cmd:"" name:"build-ups" help:"List the starting build-ups that a specification may begin with."`
	Targets  targetsCmd  `cmd:"" help:"List the targets that are known, each with its source and how sure it is."`

	Sheet sheetCmd `cmd:"" help:"Print site sheets as PDF, a surface each."`
	Pack  packCmd  `cmd:"" help:"Print the handover pack of a job as PDF."`
	Open  openCmd  `cmd:"" help:"Serve the pages to the browser of this machine; prints the address."`

	Enrol  enrolCmd  `cmd:"" help:"Join a company's server by a one-time code; prints the new device id."`
	SignIn signInCmd `cmd:"" help:"Sign in at the company's server."`
	Sync   syncCmd   `cmd:"" help:"Send what was recorded here and fetch what others recorded."`
	Status statusCmd `cmd:"" help:"Say what is saved, what is sent and what is disputed."`
	Demo   demoCmd   `cmd:"" help:"Play an invented firm through all of it, print how its job stands, and serve the pages."`

	Conflicts conflictsCmd `cmd:"" help:"List what is disputed; exit 3 if anything is."`
	Verify    verifyCmd    `cmd:"" help:"Check hashes, chains and seals of a job or of its archive; exit 1 at the first broken entry."`
	Archive   archiveCmd   `cmd:"" hidden:"" help:"The same as job archive."`
	Pin       pinCmd       `cmd:"" help:"PINs on a device that a crew shares."`
	Doctor    doctorCmd    `cmd:"" help:"Look for what is wrong with this home; exit 1 if something is."`
	Rebuild   rebuildCmd   `cmd:"" help:"Make the read tables anew from the entries."`
	Backup    backupCmd    `cmd:"" help:"Write record, photos and keys of this home into one new zip file."`
	Restore   restoreCmd   `cmd:"" help:"Put a backup in the place of this home; what is here is kept beside it."`
}

// session is what a command runs with.
type session struct {
	stdio
	ctx context.Context
	dir string // of the home
}

// open opens the home; the command closes it.
func (s *session) open() (*home.Home, error) { return home.Open(s.ctx, s.dir) }

// inHome runs f on the home.
func (s *session) inHome(f func(*home.Home) error) (err error) {
	h, err := s.open()
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, h.Close()) }()
	return f(h)
}

func main() {
	os.Exit(run(os.Args[1:], stdio{In: os.Stdin, Out: os.Stdout, Err: os.Stderr}))
}

// run runs one command line and returns its exit code.
func run(args []string, s stdio) int {
	var c commands
	return commandline.Run("client", &c, args, s.Out, s.Err,
		func(ctx context.Context, parsed *kong.Context) error {
			return parsed.Run(s, &session{stdio: s, ctx: ctx, dir: c.Home})
		},
		kong.Description("Tacet keeps the record of sound insulation on site, layer by layer, and works without a network. It calculates; it approves nothing: fire, structure, electrics and asbestos are for licensed people and local rules."),
		kong.Vars{"home": defaultHome(), "version": commandline.Version()},
	)
}

func defaultHome() string {
	base, err := os.UserConfigDir()
	if err != nil {
		return "tacet"
	}
	return filepath.Join(base, "tacet")
}

// readAll reads a file, or standard input for "-", up to limit bytes.
func (s *session) readAll(name string, limit int64) ([]byte, error) {
	in := s.In
	if name != "-" {
		f, err := os.Open(name)
		if err != nil {
			return nil, fileError(name, err)
		}
		defer f.Close()
		in = f
	}
	data, err := io.ReadAll(io.LimitReader(in, limit+1))
	if err != nil {
		return nil, fileError(name, err)
	}
	if int64(len(data)) > limit {
		return nil, tooLong(name, limit)
	}
	return data, nil
}
