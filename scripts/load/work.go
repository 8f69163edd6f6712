package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"net/http"
	"net/http/cookiejar"
	"net/url"
	"os"
	"os/exec"
	"regexp"
	"strconv"
	"strings"
	"sync"
	"time"
)

// served is the workbench as a program of its own.
type served struct {
	cmd     *exec.Cmd
	address string
	start   time.Duration
	busy    time.Duration // processor time while people worked; 0 where the system does not tell
}

func serve(ctx context.Context, program string, w *ward) (*served, error) {
	s := &served{cmd: exec.CommandContext(ctx, program, "serve", "--data", w.dir, "--listen", "127.0.0.1:0")}
	s.cmd.Env = append(os.Environ(), "GOMAXPROCS=2", "LINN_DB="+w.db)
	out, err := s.cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	began := time.Now()
	if err := s.cmd.Start(); err != nil {
		return nil, err
	}
	for lines := bufio.NewScanner(out); lines.Scan(); {
		if m := regexp.MustCompile(`http://\S+/`).FindString(lines.Text()); m != "" {
			s.address, s.start = m, time.Since(began)
			go io.Copy(io.Discard, out)
			return s, nil
		}
	}
	return nil, errors.Join(errors.New("the workbench says no address"), s.cmd.Wait())
}

func (s *served) end() error {
	if err := s.cmd.Process.Signal(os.Interrupt); err != nil {
		return err
	}
	return s.cmd.Wait()
}

// memory is the greatest resident set so far, in MiB, where the system tells.
func (s *served) memory() int {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	m := regexp.MustCompile(`VmHWM:\s+(\d+)`).FindSubmatch(text)
	if m == nil {
		return 0
	}
	n, _ := strconv.Atoi(string(m[1]))
	return n / 1024
}

// processor is the processor time so far, where the system tells: the 14th and
// 15th fields of the process's line, in hundredths of a second.
func (s *served) processor() time.Duration {
	text, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", s.cmd.Process.Pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(text), ") ") // the name before may hold spaces
	fields := strings.Fields(rest)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.Atoi(fields[11])
	system, _ := strconv.Atoi(fields[12])
	return time.Duration(user+system) * 10 * time.Millisecond
}

// visit is one page asked for.
type visit struct {
	what string
	took time.Duration
	ok   bool
}

// person is one client with a session of its own.
type person struct {
	http   *http.Client
	base   string
	ward   *ward
	chance *rand.Rand
	visits []visit
	n      int
}

// work signs everybody in, one after the other, and lets them work.
func (s *served) work(ctx context.Context, w *ward, o options) (all []visit, err error) {
	var people []*person
	for i, name := range w.names {
		jar, err := cookiejar.New(nil)
		if err != nil {
			return nil, err
		}
		p := &person{base: strings.TrimSuffix(s.address, "/"), ward: w, chance: rand.New(rand.NewPCG(uint64(i), 5)), n: i,
			http: &http.Client{Jar: jar, Timeout: 30 * time.Second, CheckRedirect: func(*http.Request, []*http.Request) error { return http.ErrUseLastResponse }}}
		if code, body := p.post("/sign-in", url.Values{"name": {name}, "password": {password}}); code != http.StatusSeeOther {
			return nil, fmt.Errorf("sign-in of %s: %d %.200s", name, code, body)
		}
		people = append(people, p)
	}
	for range 3 { // the first pages warm what every page uses
		people[0].visit("ward")
		people[0].visit("eye")
		people[0].visit("admit")
	}
	people[0].visits = nil
	ctx, stop := context.WithTimeout(ctx, time.Duration(o.seconds)*time.Second)
	defer stop()
	before := s.processor()
	var busy sync.WaitGroup
	for _, p := range people {
		busy.Go(func() { p.work(ctx, o.pause) })
	}
	busy.Wait()
	s.busy = s.processor() - before
	for _, p := range people {
		all = append(all, p.visits...)
	}
	return all, nil
}

// mix is how often each thing is done, in hundredths.
var mix = []struct {
	what  string
	share int
}{{"ward", 20}, {"eye", 45}, {"measure", 20}, {"sheet", 5}, {"shelf", 5}, {"admit", 5}}

func (p *person) work(ctx context.Context, pause time.Duration) {
	for {
		select {
		case <-ctx.Done():
			return
		case <-time.After(time.Duration(p.chance.ExpFloat64() * float64(pause))):
		}
		n := p.chance.IntN(100)
		for _, m := range mix {
			if n -= m.share; n < 0 {
				p.visit(m.what)
				break
			}
		}
	}
}

// visit asks for one page. Each person writes to eyes of their own, so that
// nobody is told of a conflict.
func (p *person) visit(what string) {
	open := p.ward.open
	any := open[p.chance.IntN(len(open))]
	share := len(open) / len(p.ward.names)
	own := open[p.n*share+p.chance.IntN(max(share, 1))]
	form := url.Values{}
	if what == "measure" { // as the page does: from the revision that it shows
		_, body := p.get("/case/" + own)
		m := regexp.MustCompile(`name="revision" value="(\d+)"`).FindStringSubmatch(body)
		if m == nil {
			m = []string{"", "0"}
		}
		form = url.Values{"revision": {m[1]}, "right.pupil_mm": {fmt.Sprintf("%.2f", 3+p.chance.Float64())}, "left.pupil_mm": {fmt.Sprintf("%.2f", 3+p.chance.Float64())}}
	}
	began := time.Now()
	code, want := 0, http.StatusOK
	switch what {
	case "ward", "shelf":
		code, _ = p.get("/" + what)
	case "eye":
		code, _ = p.get("/case/" + any)
	case "sheet":
		code, _ = p.get("/case/" + any + "/sheet")
	case "measure":
		code, _ = p.post("/case/"+own+"/readings", form)
		want = http.StatusSeeOther
	case "admit":
		id := fmt.Sprintf("N-%d-%d", p.n, p.chance.Int64())
		code, _ = p.post("/case/new", url.Values{"name": {"Invented " + id}, "identifier": {id}, "sex": {"female"}, "born": {"1960"}, "side": {"right"}, "no-allergies": {"yes"}})
		want = http.StatusSeeOther
	}
	p.visits = append(p.visits, visit{what, time.Since(began), code == want})
	if code != want && os.Getenv("LINN_LOAD_SAY") != "" {
		fmt.Fprintln(os.Stderr, what, code)
	}
}

func (p *person) get(path string) (int, string) {
	r, err := p.http.Get(p.base + path)
	return p.read(r, err)
}

func (p *person) post(path string, form url.Values) (int, string) {
	r, err := http.NewRequest(http.MethodPost, p.base+path, strings.NewReader(form.Encode()))
	if err != nil {
		return 0, err.Error()
	}
	r.Header.Set("Content-Type", "application/x-www-form-urlencoded")
	r.Header.Set("Origin", p.base)
	r.Header.Set("Sec-Fetch-Site", "same-origin")
	return p.read(p.http.Do(r))
}

func (p *person) read(r *http.Response, err error) (int, string) {
	if err != nil {
		return 0, err.Error()
	}
	defer r.Body.Close()
	body, err := io.ReadAll(r.Body)
	if err != nil {
		return 0, err.Error()
	}
	return r.StatusCode, string(body)
}
