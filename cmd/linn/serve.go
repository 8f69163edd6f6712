package main

import (
	"context"
	"crypto/rand"
	"crypto/tls"
	"errors"
	"fmt"
	"log/slog"
	"net"
	"net/http"
	"strings"
	"time"

	"linn/finding"
	"linn/internal/access"
	"linn/internal/locale"
	"linn/internal/pathway"
	"linn/internal/web"
)

// serveCommand runs the workbench.
type serveCommand struct {
	settings
	Demo bool `help:"${help_serve_demo}"`
}

func (c *serveCommand) Run(a *app) (err error) {
	if err := c.complete(a, c.Demo); err != nil {
		return err
	}
	place, err := openPlace(a, &c.settings, c.Demo)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, place.close()) }()
	log := slog.New(slog.NewJSONHandler(a.err, nil))
	path := &pathway.Pathway{Store: place.store, Clock: clockIn(time.Local), Random: rand.Reader, Program: programVersion(), Hash: access.NewPassword}
	if err := c.settleZone(a.ctx, path); err != nil {
		return err
	}
	notices, err := inspect(a, path, log)
	if err != nil {
		return err
	}
	first, err := place.furnish(a, path)
	if err != nil {
		return err
	}
	bench := c.workbench(path, first, notices, log)
	if !c.Demo {
		w, err := newWatch(a, &c.settings, path, log)
		if err != nil {
			return err
		}
		ctx, end := context.WithCancel(a.ctx)
		defer w.ended(end)
		if err := w.begin(ctx); err != nil {
			return err
		}
		bench.Watch = w
	}
	handler, err := bench.Handler()
	if err != nil {
		return err
	}
	return c.listenAndServe(a, path, handler, log)
}

// clockIn tells the time in a zone.
func clockIn(zone *time.Location) func() time.Time {
	return func() time.Time { return time.Now().In(zone) }
}

// settleZone takes the zone of the settings, else that of the ward's protocol,
// else the machine's.
func (c *serveCommand) settleZone(ctx context.Context, path *pathway.Pathway) error {
	if c.Zone != "" {
		zone, err := time.LoadLocation(c.Zone)
		if err != nil {
			return usageError(locale.Refusal(locale.English, finding.Refusal{Code: "zone-unknown", Values: finding.Values{value("got", c.Zone)}}))
		}
		path.Clock = clockIn(zone)
		return nil
	}
	zone, err := path.Zone(ctx)
	if zone != nil {
		path.Clock = clockIn(zone)
	}
	return err
}

// inspect looks at the program and its clock before anybody uses them: with a
// wrong check value no plan is made, and a clock before the last entry is told.
func inspect(a *app, path *pathway.Pathway, log *slog.Logger) (notices []finding.Refusal, err error) {
	if wrong := pathway.SelfTest(); len(wrong) > 0 {
		path.Off = true
		log.Error("self-test failed, calculation is off", "wrong", wrong)
		notices = append(notices, finding.Refusal{Code: "calculation-off", Values: finding.Values{value("what", strings.Join(wrong, "; "))}})
	}
	last, behind, err := path.ClockBehind(a.ctx)
	if err != nil {
		return nil, err
	}
	if behind {
		now := path.Clock()
		log.Warn("the clock stands before the last entry", "now", now.UTC(), "last", last.UTC())
		notices = append(notices, finding.Refusal{Code: "clock-behind", Values: finding.Values{
			value("now", now.Format(minute)), value("last", last.In(now.Location()).Format(minute))}})
	}
	for _, n := range notices {
		fmt.Fprintln(a.err, a.t("notice."+n.Code, n.Values...))
	}
	return notices, nil
}

const minute = "2006-01-02 15:04"

func (c *serveCommand) workbench(path *pathway.Pathway, first string, notices []finding.Refusal, log *slog.Logger) web.Workbench {
	clock := access.Clock(path.Clock)
	return web.Workbench{Pathway: path, Language: locale.English, Log: log, Notices: notices, Door: &access.Door{
		Accounts: web.Accounts{Pathway: path}, Limiter: &access.Limiter{Clock: clock}, TLS: c.secure(), Demo: c.Demo, DemoPerson: first,
		Sessions: &access.Sessions{Store: access.NewMemorySessions(), Clock: clock}}}
}

// goodbye is how long open requests may take when the program is told to end.
const goodbye = 10 * time.Second

// listenAndServe serves until the program is told to end, and lists the heads
// of all chains at the close.
func (c *serveCommand) listenAndServe(a *app, path *pathway.Pathway, handler http.Handler, log *slog.Logger) error {
	var config *tls.Config
	if c.secure() {
		cert, err := c.certificate(a, time.Now())
		if err != nil {
			return err
		}
		config = access.TLSConfig(cert)
	}
	listener, err := net.Listen("tcp", c.Listen)
	if err != nil {
		return errors.New(a.t("serve.listen", value("got", c.Listen), value("why", err.Error())))
	}
	server := access.Server(handler, config)
	server.ErrorLog = slog.NewLogLogger(log.Handler(), slog.LevelWarn)
	fmt.Fprintln(a.out, a.t("serve.at", value("address", c.address(listener.Addr()))))
	log.Info("serving", "version", path.Program, "demo", c.Demo)
	done := make(chan error, 1)
	go func() { done <- serveOn(server, listener) }()
	select {
	case err = <-done:
	case <-a.ctx.Done():
		ctx, cancel := context.WithTimeout(context.Background(), goodbye)
		defer cancel()
		if err = server.Shutdown(ctx); err != nil {
			err = errors.Join(err, server.Close())
		}
	}
	log.Info("ending")
	return errors.Join(err, path.ListHeads(context.Background(), "close"))
}

func serveOn(server *http.Server, listener net.Listener) (err error) {
	if server.TLSConfig != nil {
		err = server.ServeTLS(listener, "", "")
	} else {
		err = server.Serve(listener)
	}
	if errors.Is(err, http.ErrServerClosed) {
		return nil
	}
	return err
}

// address is what one types into a browser.
func (c *serveCommand) address(at net.Addr) string {
	scheme := "http://"
	if c.secure() {
		scheme = "https://"
	}
	return scheme + at.String() + "/"
}
