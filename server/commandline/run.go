// Package commandline is what both programs do around their commands: usage where nothing is asked for, one plain line for
// whatever goes wrong, the exit code that belongs to it, and an end to a command that is interrupted.
//
// Map: run.go, and version.go for what the build knows of itself.
package commandline

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"

	"github.com/alecthomas/kong"

	"tacet/sync/wire"
)

// exit carries the code that the command line library wants to end with.
type exit int

// Quiet ends a command with a code when everything has been said.
type Quiet int

// Error names the code; it is never printed.
func (q Quiet) Error() string { return fmt.Sprintf("exit %d", int(q)) }

// Run parses one command line of a program by its grammar, hands it to do, and returns the exit code. Data goes to out,
// talk to talk.
func Run(program string, grammar any, args []string, out, talk io.Writer, do func(context.Context, *kong.Context) error, options ...kong.Option) (code int) {
	defer func() {
		if v := recover(); v != nil {
			if e, ours := v.(exit); ours {
				code = int(e)
				return
			}
			// The last line of defence: a bug ends as one line too. What was recorded before is on disk.
			fmt.Fprintf(talk, "%s: a fault in this program stopped it: %v\n", program, v)
			code = 1
		}
	}()
	options = append(options, kong.Name(program), kong.Writers(out, talk), kong.Exit(func(code int) { panic(exit(code)) }))
	parser, err := kong.New(grammar, options...)
	if err != nil {
		panic(err) // the command line itself is written wrongly
	}
	if len(args) == 0 {
		usage(program, parser, talk)
		return 2
	}
	parsed, err := parser.Parse(args)
	if err != nil {
		fmt.Fprintf(talk, "%s: %s\n", program, OneLine(err))
		return 2
	}
	// An interrupt ends a command like any other error: what it was doing is finished or taken back.
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	return end(program, talk, do(ctx, parsed))
}

// end says what went wrong and gives the exit code.
func end(program string, talk io.Writer, err error) int {
	var q Quiet
	if errors.As(err, &q) {
		return int(q)
	}
	switch {
	case errors.Is(err, context.Canceled):
		fmt.Fprintf(talk, "%s: stopped; what was not finished was taken back\n", program)
	case err != nil:
		fmt.Fprintf(talk, "%s: %s\n", program, OneLine(err))
	}
	return wire.Exit(err)
}

// usage is the answer to a command line that asks for nothing.
func usage(program string, parser *kong.Kong, talk io.Writer) {
	parser.Stdout = talk
	k, err := kong.Trace(parser, nil)
	if err == nil {
		err = k.PrintUsage(false)
	}
	if err != nil {
		fmt.Fprintf(talk, "%s: %s\n", program, OneLine(err))
	}
}

// OneLine is the first line of an error: of several that were joined, the first.
func OneLine(err error) string {
	line, _, _ := strings.Cut(err.Error(), "\n")
	return line
}
