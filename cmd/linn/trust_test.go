package main

import (
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"linn/internal/transfer/backup"
)

// seeded is the demo's ward, made once for all tests.
var seeded struct {
	once sync.Once
	dir  string
}

// demoWard is a folder with a ward in it, as a hospital's own: a copy of the
// demo's, which nobody has open.
func demoWard(t *testing.T) string {
	t.Helper()
	seeded.once.Do(func() {
		dir, err := os.MkdirTemp("", "linn-trust-")
		if err != nil {
			t.Fatal(err)
		}
		serving(t, "--demo", "--data", filepath.Join(dir, "ward")).end()
		seeded.dir = dir
	})
	if seeded.dir == "" {
		t.Fatal("the demo could not be made")
	}
	dir := filepath.Join(t.TempDir(), "ward")
	if err := os.CopyFS(dir, os.DirFS(filepath.Join(seeded.dir, "ward"))); err != nil {
		t.Fatal(err)
	}
	if err := os.Remove(filepath.Join(dir, demoMark)); err != nil {
		t.Fatal(err)
	}
	return dir
}

// wants runs a command and asks for its exit code and what it says.
func wants(t *testing.T, code int, says string, args ...string) (out string) {
	t.Helper()
	got, out, err := command(t, args...)
	if got != code || !strings.Contains(out+err, says) || strings.Contains(out+err, "goroutine") {
		t.Errorf("linn %s: exit %d, %q %q; want %d, %q", strings.Join(args, " "), got, out, err, code, says)
	}
	return out
}

// keyFile writes one recovery key as its holder has it, and returns the file
// and the public half.
func keyFile(t *testing.T) (path, public string) {
	t.Helper()
	k, err := backup.NewKey()
	if err != nil {
		t.Fatal(err)
	}
	path = filepath.Join(t.TempDir(), "key")
	typed := strings.ToLower(k.Secret[:20]) + "  " + k.Secret[20:] + "\n"
	if err := os.WriteFile(path, []byte(typed), 0o600); err != nil {
		t.Fatal(err)
	}
	return path, k.Public
}

// The life of a backup on the command line: keys, backup, drill, restore, and
// every way of getting it wrong with its own message.
func TestBackupCommands(t *testing.T) {
	ward, stick := demoWard(t), t.TempDir()
	key, public := keyFile(t)
	wrong, _ := keyFile(t)
	wants(t, exitRefused, "no recovery key is set", "backup", stick, "--data", ward)
	wants(t, exitUsage, "name a folder", "backup", "--data", ward, "--to", public)
	wants(t, exitMachine, "no such file", "backup", filepath.Join(stick, "gone"), "--data", ward, "--to", public)
	wants(t, exitRefused, "begins with age1", "backup", stick, "--data", ward, "--to", "age1xyz")
	secret, err := os.ReadFile(key)
	if err != nil {
		t.Fatal(err)
	}
	wants(t, exitRefused, "this is the secret half", "backup", stick, "--data", ward, "--to", strings.Join(strings.Fields(string(secret)), ""))
	wants(t, exitMachine, "there is no record", "backup", stick, "--data", filepath.Join(stick, "none"), "--to", public)
	file := regexp.MustCompile(`\S+\.age`).FindString(wants(t, exitDone, "read back and equal", "backup", stick, "--data", ward, "--to", public))

	wants(t, exitDone, "DRILL PASSED", "restore", "--drill", file, "--key-file", key)
	wants(t, exitRefused, "does not open it", "restore", "--drill", file, "--key-file", wrong)
	wants(t, exitRefused, "not a recovery key", "restore", "--drill", file, "--key-file", strings.TrimSuffix(file, ".age")+".json")
	wants(t, exitMachine, "a recovery key is needed", "restore", "--drill", file)
	wants(t, exitRefused, "none is written over", "restore", file, "--data", ward, "--key-file", key)

	back := filepath.Join(t.TempDir(), "back")
	wants(t, exitDone, "every link verified", "restore", file, "--data", back, "--key-file", key)
	wants(t, exitDone, "the same hashes in the same order", "verify", "--data", back, "--against", file)
	wants(t, exitDone, "the same hashes in the same order", "verify", "--data", ward, "--against", strings.TrimSuffix(file, ".age")+".json")
	if list, _ := filepath.Glob(back + making); list != nil {
		t.Errorf("left behind: %v", list)
	}

	whole, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	for name, bad := range map[string][]byte{"half": whole[:len(whole)/2], "one bit": append(append([]byte{}, whole[:len(whole)-99]...), append([]byte{whole[len(whole)-99] ^ 1}, whole[len(whole)-98:]...)...), "empty": nil} {
		if err := os.WriteFile(file, bad, 0o600); err != nil {
			t.Fatal(err)
		}
		fresh := filepath.Join(t.TempDir(), "fresh")
		wants(t, exitRefused, "cut off, damaged or exchanged", "restore", file, "--data", fresh, "--key-file", key)
		if err := os.Rename(strings.TrimSuffix(file, ".age")+".json", stick+"/kept"); err != nil {
			t.Fatal(err)
		}
		wants(t, exitRefused, "Nothing was kept", "restore", file, "--data", fresh, "--key-file", key)
		if err := os.Rename(stick+"/kept", strings.TrimSuffix(file, ".age")+".json"); err != nil {
			t.Fatal(err)
		}
		if list, _ := filepath.Glob(fresh + "*"); list != nil {
			t.Errorf("%s: left behind %v", name, list)
		}
	}
}

// Keys are made once, for two holders, and the ward's settings know only
// their public halves.
func TestRecoveryKeys(t *testing.T) {
	ward, page := demoWard(t), filepath.Join(t.TempDir(), "keys.pdf")
	wants(t, exitDone, "two pages", "backup", "--make-keys", page, "--data", ward)
	text, err := os.ReadFile(filepath.Join(ward, settingsFile))
	if err != nil || strings.Count(string(text), "age1") != holders || strings.Contains(strings.ToUpper(string(text)), "SECRET") {
		t.Errorf("settings: %q, %v", text, err)
	}
	wants(t, exitUsage, "old backups need the old keys", "backup", "--make-keys", page+"2", "--data", ward)
	stick := t.TempDir()
	wants(t, exitDone, "for 2 recovery keys", "backup", stick, "--data", ward)
	if info, err := os.Stat(page); err != nil || info.Mode().Perm() != 0o600 {
		t.Errorf("the pages: %v %v", info, err)
	}
}

// Export and import carry a ward, refuse what must not be, and a backup is
// made beside the program that serves.
func TestCarryCommands(t *testing.T) {
	ward := demoWard(t)
	file, to := filepath.Join(t.TempDir(), "ward.txt"), filepath.Join(t.TempDir(), "to")
	wants(t, exitDone, "digest", "export", file, "--data", ward)
	wants(t, exitRefused, "no file is written over", "export", file, "--data", ward)
	wants(t, exitMachine, "there is no record", "export", file+"2", "--data", to)
	wants(t, exitDone, "digest", "import", file, "--data", to)
	wants(t, exitDone, "Every link holds", "verify", "--data", to)
	wants(t, exitRefused, "none is written over", "import", file, "--data", to)
	again := filepath.Join(t.TempDir(), "again.txt")
	wants(t, exitDone, "digest", "export", again, "--data", to)
	text, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	back, err := os.ReadFile(again)
	if err != nil {
		t.Fatal(err)
	}
	_, want, _ := strings.Cut(string(text), "\n") // the first line has the instant of making
	_, got, _ := strings.Cut(string(back), "\n")
	sum := regexp.MustCompile(`"sha256":"[0-9a-f]+"`)
	if sum.ReplaceAllString(want, "") != sum.ReplaceAllString(got, "") {
		t.Error("another file came out")
	}
	for name, bad := range map[string]string{"cut-off": string(text[:len(text)/3]), "changed": strings.Replace(string(text), "right", "left ", 1), "": ""} {
		if err := os.WriteFile(file, []byte(bad), 0o600); err != nil {
			t.Fatal(err)
		}
		wants(t, exitRefused, "Nothing was kept", "import", file, "--data", to+"2")
		if list, _ := filepath.Glob(to + "2*"); list != nil {
			t.Errorf("%s: left behind %v", name, list)
		}
	}
}

// Recall says which plans and eyes, and names only when asked, in the log.
func TestRecallCommand(t *testing.T) {
	ward := demoWard(t)
	out := wants(t, exitDone, "6 signed plans, 5 operated eyes", "recall", "--method", "srk-t", "--version", "1", "--data", ward)
	if !strings.Contains(out, "sheet 1") || !strings.Contains(out, "EYE") {
		t.Errorf("%q", out)
	}
	wants(t, exitDone, "0 found", "recall", "--method", "srk-t", "--version", "9", "--data", ward)
	if lot := wants(t, exitDone, "operated eyes", "recall", "--lot", "v-31", "--data", ward); !strings.Contains(lot, "viscoelastic_lot") || !strings.Contains(lot, "operated") {
		t.Errorf("a lot of the demo: %q", lot)
	}
	wants(t, exitDone, `"format":"linn.recall/1"`, "recall", "--program", programVersion(), "--json", "--data", ward)
	wants(t, exitUsage, "name one thing", "recall", "--data", ward)
	wants(t, exitUsage, "name one thing", "recall", "--lot", "1", "--device", "x", "--data", ward)
	wants(t, exitUsage, "which is not a number", "recall", "--lens", "x", "--constant", "a", "--value", "1e3", "--data", ward)
	named := wants(t, exitDone, "6 signed plans, 5 operated eyes", "recall", "--method", "srk-t", "--names", "--data", ward)
	if strings.Contains(named, "–\n") || len(named) <= len(out) {
		t.Errorf("no names in %q", named)
	}
}

// The workbench makes its backups while it serves, and the Ward says when
// there is none.
func TestServeBacksUp(t *testing.T) {
	ward, stick := demoWard(t), t.TempDir()
	bare := serving(t, "--data", ward)
	if _, body := bare.get("/sign-in"); strings.Contains(body, "No backups are set") {
		t.Error("the doors speak of backups")
	}
	bare.end()
	_, public := keyFile(t)
	t.Setenv("LINN_BACKUP_FOLDER", stick)
	t.Setenv("LINN_BACKUP_TO", public)
	r := serving(t, "--data", ward)
	for range 200 {
		if list, _ := filepath.Glob(stick + "/*.json"); len(list) == 1 {
			break
		}
		time.Sleep(50 * time.Millisecond)
	}
	wants(t, exitDone, "the same hashes", "verify", "--data", ward, "--against", onlyManifest(t, stick))
	wants(t, exitDone, "read back and equal", "backup", stick, "--data", ward, "--to", public) // beside it
	r.end()
	if log := r.err.String(); !strings.Contains(log, "backup made") || !strings.Contains(log, "record read through") {
		t.Errorf("log: %s", log)
	}
	t.Setenv("LINN_BACKUP_HOURS", "soon")
	wants(t, exitUsage, "whole number of hours", "serve", "--data", ward, "--listen", "127.0.0.1:0")
}

func onlyManifest(t *testing.T, dir string) string {
	t.Helper()
	list, err := filepath.Glob(dir + "/*.json")
	if err != nil || len(list) != 1 {
		t.Fatalf("%v, %v", list, err)
	}
	return list[0]
}
