// Command linn is the workbench for cataract surgery on the command line: one
// command for each engine, and the workbench itself.
//
// Exit codes: 0 done, also when an answer holds a stop; 1 an input or a row
// was refused, the rest is written; 2 the command was not understood; 3 the
// machine failed.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"os/signal"
	"syscall"

	"github.com/alecthomas/kong"

	"linn/finding"
	"linn/internal/locale"
	"linn/internal/pathway"
)

// The exit codes of the outside contract.
const (
	exitDone    = 0
	exitRefused = 1
	exitUsage   = 2
	exitMachine = 3
)

// app is what every command is given: its streams and its language.
type app struct {
	ctx  context.Context
	in   io.Reader
	out  io.Writer
	err  io.Writer
	lang locale.Language
}

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	a := &app{ctx: ctx, in: os.Stdin, out: os.Stdout, err: os.Stderr, lang: locale.English}
	code := a.main(os.Args[1:])
	stop()
	os.Exit(code)
}

// main runs one command line and returns its exit code. A broken invariant of
// ours is told in one line; nobody on a ward can use a trace.
func (a *app) main(args []string) (code int) {
	defer func() {
		if p := recover(); p != nil {
			a.say("command.broken", finding.Value{Name: "what", Text: fmt.Sprint(p)})
			code = exitMachine
		}
	}()
	var c commands
	ended := false
	parser, err := kong.New(&c, kong.Name("linn"), kong.Description(a.t("help.linn")), helpTexts(a.lang),
		kong.Writers(a.out, a.err), kong.Exit(func(int) { ended = true }), kong.ConfigureHelp(kong.HelpOptions{Compact: true}))
	if err != nil {
		panic(err)
	}
	if len(args) == 0 {
		args = []string{"help"}
		code = exitUsage
	}
	k, err := parser.Parse(args)
	switch {
	case ended: // --help
		return exitDone
	case err != nil:
		a.say("command.usage", finding.Value{Name: "why", Text: err.Error()})
		return exitUsage
	}
	return max(code, a.exit(k.Run(a, k)))
}

// errRefused says that an input was refused and people were told why.
var errRefused = errors.New("input refused")

// exit tells a command's error and turns it into an exit code.
func (a *app) exit(err error) int {
	var usage usageError
	switch {
	case err == nil:
		return exitDone
	case errors.Is(err, errRefused):
		return exitRefused
	case errors.As(err, &usage):
		a.say("command.usage", finding.Value{Name: "why", Text: string(usage)})
		return exitUsage
	case errors.Is(err, pathway.ErrDiskFull), errors.Is(err, syscall.ENOSPC):
		a.say("trust.disk-full", finding.Value{Name: "why", Text: err.Error()})
		return exitMachine
	case errors.Is(err, pathway.ErrDamaged):
		a.say("trust.damaged-record", finding.Value{Name: "why", Text: err.Error()})
		return exitMachine
	case errors.Is(err, pathway.ErrDisk), errors.Is(err, syscall.EIO):
		a.say("trust.disk", finding.Value{Name: "why", Text: err.Error()})
		return exitMachine
	case errors.Is(err, context.Canceled):
		a.say("command.interrupted")
		return exitMachine
	}
	a.say("command.failed", finding.Value{Name: "why", Text: err.Error()})
	return exitMachine
}

// usageError is a command line that does not make sense as a whole.
type usageError string

func (e usageError) Error() string { return string(e) }

// t is the message under key in the person's language.
func (a *app) t(key string, values ...finding.Value) string { return locale.T(a.lang, key, values...) }

// say writes a message on standard error.
func (a *app) say(key string, values ...finding.Value) { fmt.Fprintln(a.err, a.t(key, values...)) }
