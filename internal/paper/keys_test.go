package paper

import (
	"bytes"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
)

// TestKeys: each holder's page shows one whole key, to the eye and to a
// reader of codes, and not the other's.
func TestKeys(t *testing.T) {
	secrets := []string{"AGE-SECRET-KEY-1R8JD29FFY0Q8DGUSEY2LW678R5YPY44XZUQJ429P5PMZTQMTJFLQZA4X5Z", "AGE-SECRET-KEY-1HS3ML0FJV883ZNSTT6FT8X5LQVSEF58G3883XZN55T7CRMW9Z5GSRTSRDT"}
	k := Keys{Ward: "ward", MadeOn: "2026-11-25", Keys: []Key{{"age1first", secrets[0]}, {"age1second", secrets[1]}}}
	var b bytes.Buffer
	if err := k.Write(&b, english{}); err != nil {
		t.Fatal(err)
	}
	text, pages := extract(t, b.Bytes())
	if pages != 2 {
		t.Errorf("%d pages", pages)
	}
	for i, page := range strings.Split(text, "\f")[:2] {
		bare := strings.Join(strings.Fields(page), "")
		if !strings.Contains(bare, secrets[i]) || strings.Contains(bare, secrets[1-i]) || !strings.Contains(page, k.Keys[i].Public) {
			t.Errorf("page %d says %q", i+1, page)
		}
	}
	read := tool(t, "dmtxread", "dmtx-utils")
	draw := tool(t, "pdftoppm", "poppler-utils")
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "keys.pdf"), b.Bytes(), 0o600); err != nil {
		t.Fatal(err)
	}
	if out, err := exec.Command(draw, "-r", "150", "-x", "850", "-y", "200", "-W", "390", "-H", "420", "-png", "-f", "2", "-l", "2", filepath.Join(dir, "keys.pdf"), filepath.Join(dir, "page")).CombinedOutput(); err != nil {
		t.Fatalf("%v %s", err, out)
	}
	list, err := filepath.Glob(filepath.Join(dir, "page*.png"))
	if err != nil || len(list) != 1 {
		t.Fatal(list, err)
	}
	out, err := exec.Command(read, "-N1", list[0]).Output()
	if err != nil || string(out) != secrets[1] {
		t.Errorf("the square reads %q, %v", out, err)
	}
}
