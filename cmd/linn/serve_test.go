package main

import (
	"bytes"
	"context"
	"database/sql"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"linn/internal/locale"
	"linn/internal/store"
)

// buffer may be read while a program writes to it.
type buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (b *buffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.Write(p)
}

func (b *buffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.b.String()
}

// command runs one command line to its end.
func command(t *testing.T, args ...string) (code int, out, err string) {
	t.Helper()
	var o, e buffer
	a := &app{ctx: t.Context(), in: strings.NewReader(""), out: &o, err: &e, lang: locale.English}
	code = a.main(args)
	return code, o.String(), e.String()
}

// running is a workbench that serves.
type running struct {
	t        *testing.T
	address  string
	out, err buffer
	stop     context.CancelFunc
	code     chan int
}

func serving(t *testing.T, args ...string) *running {
	t.Helper()
	ctx, stop := context.WithCancel(t.Context())
	r := &running{t: t, stop: stop, code: make(chan int, 1)}
	a := &app{ctx: ctx, in: strings.NewReader(""), out: &r.out, err: &r.err, lang: locale.English}
	go func() { r.code <- a.main(append([]string{"serve", "--listen", "127.0.0.1:0"}, args...)) }()
	t.Cleanup(stop)
	for range 600 {
		if m := regexp.MustCompile(`linn is at (http\S+)/`).FindStringSubmatch(r.out.String()); m != nil {
			r.address = m[1]
			return r
		}
		select {
		case code := <-r.code:
			t.Fatalf("serve ended with %d: %s", code, r.err.String())
		case <-time.After(50 * time.Millisecond):
		}
	}
	t.Fatalf("serve says no address: %q %q", r.out.String(), r.err.String())
	return nil
}

func (r *running) get(path string) (int, string) {
	r.t.Helper()
	w, err := http.Get(r.address + path)
	if err != nil {
		r.t.Fatal(err)
	}
	defer w.Body.Close()
	body, err := io.ReadAll(w.Body)
	if err != nil {
		r.t.Fatal(err)
	}
	return w.StatusCode, string(body)
}

func (r *running) end() {
	r.t.Helper()
	r.stop()
	if code := <-r.code; code != exitDone {
		r.t.Errorf("serve ended with %d: %s", code, r.err.String())
	}
}

// The demo serves its ward, is found sound beside it, keeps its folder, and
// says nothing of anybody in its log.
func TestServeDemo(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	r := serving(t, "--demo", "--data", dir)
	if strings.Count(r.out.String(), "\n") != 1 {
		t.Errorf("the address does not stand alone: %q", r.out.String())
	}
	for path, want := range map[string]string{"/": "Amrelle Saltmarsh", "/ward": "27 eyes", "/shelf": "Demo Skerry", "/desk": "Corvan Eskerling"} {
		if code, body := r.get(path); code != 200 || !strings.Contains(body, want) {
			t.Errorf("%s: %d, says %q: %v", path, code, want, strings.Contains(body, want))
		}
	}
	for _, path := range []string{"/gallery/", "/gallery/ward/ward", "/nowhere"} {
		if code, _ := r.get(path); code != 404 {
			t.Errorf("%s: %d", path, code)
		}
	}
	if code, out, err := command(t, "verify", "--data", dir); code != exitDone || !strings.Contains(out, "6 signed plans computed again") || !strings.Contains(out, "Every link holds") {
		t.Errorf("verify beside it: %d %q %q", code, out, err)
	}
	if code, _, err := command(t, "serve", "--demo", "--data", dir, "--listen", "127.0.0.1:0"); code != exitMachine || !strings.Contains(err, "another linn has") {
		t.Errorf("a second program: %d %q", code, err)
	}
	r.end()
	if log := r.err.String(); !strings.HasPrefix(log, "{") || strings.Contains(log, "Amrelle") || strings.Contains(log, "H-0412") {
		t.Errorf("the log says %q", log)
	}
	again := serving(t, "--demo", "--data", dir)
	if code, body := again.get("/ward"); code != 200 || !strings.Contains(body, "27 eyes") {
		t.Errorf("the demo once more: %d", code)
	}
	again.end()
	if code, _, err := command(t, "serve", "--data", dir); code != exitUsage || !strings.Contains(err, "holds a demo") {
		t.Errorf("a ward in the demo's folder: %d %q", code, err)
	}
}

// Without --data the demo leaves nothing behind.
func TestServeDemoIsThrownAway(t *testing.T) {
	t.Setenv("TMPDIR", t.TempDir())
	r := serving(t, "--demo")
	list, err := os.ReadDir(os.Getenv("TMPDIR"))
	if err != nil || len(list) != 1 {
		t.Fatalf("%v %v", list, err)
	}
	r.end()
	if list, err = os.ReadDir(os.Getenv("TMPDIR")); err != nil || len(list) != 0 {
		t.Errorf("the demo left %v %v", list, err)
	}
}

// A new ward asks for its first person, and lists its heads at the close.
func TestServeNewWard(t *testing.T) {
	dir := t.TempDir()
	r := serving(t, "--data", dir)
	if code, body := r.get("/ward"); code != 200 || !strings.Contains(body, "The first person") {
		t.Errorf("a new ward: %d", code)
	}
	r.end()
	if code, out, _ := command(t, "verify", "--data", dir); code != exitDone || !strings.Contains(out, "Every link holds") {
		t.Errorf("verify: %d %q", code, out)
	}
}

func TestServeRefuses(t *testing.T) {
	full, demo := t.TempDir(), filepath.Join(t.TempDir(), "no", "such")
	if err := os.WriteFile(filepath.Join(full, "letter.txt"), []byte("mine"), 0o600); err != nil {
		t.Fatal(err)
	}
	bad := t.TempDir()
	if err := os.WriteFile(filepath.Join(bad, settingsFile), []byte("# ours\nlissten = \"127.0.0.1:1\"\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		args []string
		code int
		says string
	}{
		{[]string{"--demo", "--data", full}, exitUsage, "no demo made"},
		{[]string{"--demo", "--data", demo, "--listen", "0.0.0.0:7373"}, exitUsage, "the demo has no passwords"},
		{[]string{"--data", demo, "--listen", "0.0.0.0:7373"}, exitUsage, "give the server a certificate"},
		{[]string{"--data", demo, "--listen", "7373"}, exitUsage, "no address to listen on"},
		{[]string{"--data", demo, "--listen", "192.0.2.1:7373", "--tls-cert", "x.pem"}, exitUsage, "a certificate needs its key"},
		{[]string{"--demo", "--db", "postgres://ward@db/linn"}, exitUsage, "leave --db out"},
		{[]string{"--db", "postgres://ward:secret@db/linn"}, exitUsage, "can be seen by everybody"},
		{[]string{"--data", demo, "--zone", "Moon/Sea"}, exitUsage, "no name of a time zone"},
		{[]string{"--data", bad}, exitRefused, "linn.toml:2:1"},
	} {
		code, out, err := command(t, append([]string{"serve"}, c.args...)...)
		if code != c.code || !strings.Contains(err, c.says) || strings.Contains(out+err, "secret") {
			t.Errorf("%v: %d %q", c.args, code, err)
		}
	}
	if list, err := os.ReadDir(full); err != nil || len(list) != 1 {
		t.Errorf("the refused folder now holds %v %v", list, err)
	}
}

// A flag goes before its variable, and that before the file.
func TestSettingsOrder(t *testing.T) {
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, settingsFile), []byte("listen = \"127.0.0.1:1001\" # ours\nzone = 'Asia/Kathmandu'\n"), 0o600); err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct{ flag, file string }{{"", "127.0.0.1:1001"}, {"127.0.0.1:1003", "127.0.0.1:1003"}} {
		s := settings{Data: dir, Listen: c.flag}
		if err := s.complete(&app{lang: locale.English}, false); err != nil || s.Listen != c.file || s.Zone != "Asia/Kathmandu" {
			t.Errorf("%+v %v", s, err)
		}
	}
	t.Setenv("LINN_LISTEN", "0.0.0.0:1002")
	if code, _, err := command(t, "serve", "--data", dir); code != exitUsage || !strings.Contains(err, "0.0.0.0:1002") {
		t.Errorf("the variable does not go before the file: %d %q", code, err)
	}
	if code, _, err := command(t, "serve", "--data", dir, "--listen", "0.0.0.0:1004"); code != exitUsage || !strings.Contains(err, "0.0.0.0:1004") {
		t.Errorf("the flag does not go before the variable: %d %q", code, err)
	}
}

func TestParseSettings(t *testing.T) {
	known := []string{"listen", "zone"}
	for _, c := range []struct{ text, code string }{
		{"", ""}, {"# only a comment\n\n", ""}, {"listen = \"a\"", ""}, {"listen='a' # b", ""}, {"listen = \"a \\\" # \\u00e9\"\r\nzone = ''", ""},
		{"listen = a", "settings-line"}, {"listen = 1", "settings-line"}, {"listen", "settings-line"}, {"listen = \"a", "settings-line"},
		{"listen = \"a\" b", "settings-line"}, {"[table]", "settings-line"}, {"listen = \"\\x41\"", "settings-line"}, {"listen = '''a'''", "settings-line"},
		{"lissten = \"a\"", "settings-key"}, {"listen = \"a\"\nlisten = \"b\"", "settings-twice"}, {"listen = \"\xff\"", "settings-not-text"},
	} {
		_, refused := parseSettings([]byte(c.text), known)
		got := ""
		if len(refused) > 0 {
			got = refused[0].Code
		}
		if got != c.code || got != "" && !locale.Has("refused."+got) {
			t.Errorf("%q: %q, want %q", c.text, got, c.code)
		}
	}
}

// Whatever is read as a setting is text, and the same file reads the same.
func FuzzParseSettings(f *testing.F) {
	for _, s := range []string{"listen = \"127.0.0.1:1\"\n", "zone='x' # y", "a = \"\\\"\"", "[t]\n=\n"} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		found, refused := parseSettings(data, []string{"listen", "zone"})
		for key, text := range found {
			if key != "listen" && key != "zone" || !strings.Contains(string(data), key) {
				t.Errorf("%q = %q", key, text)
			}
		}
		again, once := parseSettings(data, []string{"listen", "zone"})
		if len(again) != len(found) || len(once) != len(refused) {
			t.Error("a second reading differs")
		}
	})
}

// Verify names the first broken link and ends with 1; where there is no record
// it ends with 3.
func TestVerifyFindsWhatWasChanged(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	serving(t, "--demo", "--data", dir).end()
	db, err := sql.Open("sqlite3", "file:"+filepath.Join(dir, "linn.db"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := db.Query("SELECT name FROM sqlite_schema WHERE type = 'trigger'")
	if err != nil {
		t.Fatal(err)
	}
	var triggers []string
	for rows.Next() {
		var name string
		if err := rows.Scan(&name); err != nil {
			t.Fatal(err)
		}
		triggers = append(triggers, name)
	}
	for _, name := range triggers {
		if _, err := db.Exec("DROP TRIGGER " + name); err != nil {
			t.Fatal(err)
		}
	}
	var chain string
	var number int
	err = db.QueryRow("SELECT chain, number FROM revision WHERE kind = 'case' AND payload LIKE '%29.84%' ORDER BY sequence LIMIT 1").Scan(&chain, &number)
	if err == nil {
		_, err = db.Exec("UPDATE revision SET payload = replace(payload, '29.84', '29.48') WHERE kind = 'case' AND chain = ? AND number = ?", chain, number)
	}
	if err == nil {
		err = db.Close()
	}
	if err != nil {
		t.Fatal(err)
	}
	code, out, e := command(t, "verify", "--data", dir)
	if code != exitRefused || !strings.Contains(out, "BROKEN: case "+chain) || !strings.Contains(out, "changed after it was written") {
		t.Errorf("verify: %d %q %q", code, out, e)
	}
	if code, _, e := command(t, "verify", "--data", filepath.Join(dir, "nothing")); code != exitMachine || !strings.Contains(e, "there is no record") {
		t.Errorf("verify of nothing: %d %q", code, e)
	}
	if empty, err := store.Empty(filepath.Join(dir, "nothing")); err != nil || !empty {
		t.Error("verify made a folder")
	}
}

// An encrypted ward opens with its passphrase from the environment alone.
func TestServePassphrase(t *testing.T) {
	dir := t.TempDir()
	t.Setenv("LINN_PASSPHRASE", "a lake below the fall")
	serving(t, "--data", dir).end()
	t.Setenv("LINN_PASSPHRASE", "another lake")
	if code, _, e := command(t, "verify", "--data", dir); code != exitMachine || !strings.Contains(e, "passphrase is not the one") {
		t.Errorf("a wrong passphrase: %d %q", code, e)
	}
	t.Setenv("LINN_PASSPHRASE", "")
	if code, _, e := command(t, "verify", "--data", dir); code != exitMachine || !strings.Contains(e, "LINN_PASSPHRASE") {
		t.Errorf("no passphrase: %d %q", code, e)
	}
}
