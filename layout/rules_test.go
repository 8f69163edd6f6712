// Package layout tests the shape of the house: who may import whom, what a
// pure package may touch, and the rules of style that a machine can check.
// The rules stand in this file as data; changing one needs a decision record
// in docs/adr.
package layout

// module is this module's path with a slash behind it.
const module = "linn/"

// lines is the import order: a package imports only packages that stand on
// earlier lines. It is patient order. A package may be listed before it
// exists; a package that exists must be listed.
const lines = `
unit source
finding
eye
calc/optics
calc/biometry calc/refraction
calc/lenspower calc/astigmatism calc/risk calc/dose calc/fluidics calc/ultrasound
calc/technique calc/heat calc/uncertainty calc/supplies
internal/care/plan
internal/care/sheet internal/care/operation
internal/care/followup
internal/care/casebook
internal/learn/outcome
internal/learn/constants internal/learn/incision internal/learn/audit
internal/learn/training internal/invent
internal/teach
internal/pathway
third_party
internal/access internal/locale internal/paper
internal/store internal/transfer/dicomio internal/transfer/fhirio internal/transfer/gs1io internal/transfer/csvio internal/transfer/wardfile
internal/transfer/backup
internal/store/storetest
internal/web
cmd/linn
internal/checkvalue
internal/docgen
scripts/bench scripts/load scripts/mutate scripts/tally
layout scripts/reference internal/web/browsertest
`

// lastPure is the package that closes the pure bands: it and every package on
// an earlier line or on its own does no I/O, reads no clock and draws no
// unseeded chance.
const lastPure = "internal/teach"

// words may be imported by every later package.
var words = []string{"unit", "source", "finding", "eye"}

// openToEdges, with the words, is all of ours that web and cmd may import;
// calc, care, learn, invent and teach they reach only through the pathway.
// A name that ends in a slash means every package below it.
var openToEdges = []string{"internal/pathway", "internal/access", "internal/locale", "internal/paper", "internal/transfer/", "third_party"}

// wires is what cmd/linn alone may import besides.
var wires = []string{"internal/store", "internal/web"}

// never are imports that the order of lines would allow: from, to, reason.
var never = [][3]string{
	{"internal/store", "internal/pathway", "the store knows no verbs"},
	{"internal/transfer/", "internal/pathway", "a format knows no verbs"},
	{"internal/access", "internal/pathway", "access proves who it is; pathway checks what they may do"},
	{"internal/locale", "internal/pathway", "words know no verbs"},
	{"internal/web", "internal/store", "only cmd/linn wires store and web"},
}

// supportOnly are packages for tests; beside _test files only the packages
// named may import them.
var supportOnly = map[string][]string{
	"internal/checkvalue":      {"internal/docgen"},
	"internal/store/storetest": nil,
}

// pure is what a pure package may import from the standard library: nothing
// that reads a disk, a network, a clock of its own or the machine's state.
var pure = []string{
	"bytes", "cmp", "container/heap", "context", "crypto/sha256", "embed",
	"encoding", "encoding/binary", "encoding/hex", "encoding/json", "errors", "fmt", "hash",
	"iter", "maps", "math", "math/big", "math/bits", "math/cmplx", "math/rand/v2", "reflect",
	"regexp", "slices", "sort", "strconv", "strings", "sync", "time",
	"unicode", "unicode/utf16", "unicode/utf8",
}

// pureAlso is what single pure packages may import besides, with the reason in
// docs/adr/0011-packages-beside-the-list.md.
var pureAlso = map[string][]string{
	"internal/care/casebook": {"io", "crypto/aes", "crypto/cipher", "encoding/base64"},
}

// impure are names of otherwise pure packages that read the clock, the
// machine's zone or standard input, or write to standard output.
var impure = map[string][]string{
	"time":          {"Now", "Since", "Until", "Sleep", "After", "AfterFunc", "Tick", "NewTimer", "NewTicker", "LoadLocation", "Local"},
	"crypto/cipher": {"NewGCMWithRandomNonce"},
	"fmt":           {"Print", "Printf", "Println", "Scan", "Scanf", "Scanln"},
}

// seeded are the names of math/rand/v2 that carry their own seed; every other
// name draws from the process's hidden source.
var seeded = []string{"New", "NewPCG", "NewChaCha8", "NewZipf", "Rand", "Source", "PCG", "ChaCha8", "Zipf"}

// gonum is the numerical library's packages that pure code may ask for.
const gonum = "gonum.org/v1/gonum/"

var gonumPackages = []string{"mat", "stat", "stat/distuv", "mathext", "optimize", "dsp/fourier"}

// grants names, per pure package, which of them it uses.
var grants = map[string][]string{
	"internal/learn/audit":     {"stat/distuv", "mathext"},
	"internal/learn/constants": {"stat/distuv"},
}

// parts names, per third-party module used by the edges, who may import it.
// "_test" means test files only.
var parts = map[string][]string{
	"github.com/ncruces/go-sqlite3":   {"internal/store"},
	"modernc.org/sqlite":              {"_test"},
	"github.com/jackc/pgx/v5":         {"internal/store"},
	"filippo.io/age":                  {"internal/transfer/backup"},
	"golang.org/x/crypto":             {"internal/access", "internal/store"},
	"codeberg.org/go-pdf/fpdf":        {"internal/paper"},
	"github.com/boombuler/barcode":    {"internal/paper", "internal/web"},
	"github.com/alecthomas/kong":      {"cmd/linn"},
	"github.com/chromedp/chromedp":    {"_test"},
	"github.com/chromedp/cdproto":     {"_test"},
	"pgregory.net/rapid":              {"_test"},
	"github.com/rogpeppe/go-internal": {"_test"},
	"golang.org/x/sys":                {"internal/store"},
	"golang.org/x/text":               {"internal/access", "internal/locale", "internal/transfer/"},
	"github.com/google/uuid":          {"internal/store"},
	"gonum.org/v1/gonum":              {}, // see grants
}

// headings are those of every calc package's doc.go, in this order.
var headings = []string{"Sources", "Inputs and units", "Results", "Valid for", "Not valid for", "Disagreements", "Checked against", "If wrong"}

// The lengths of STYLE: a function over longest lines is split, a file over
// longestFile too, a verb of the pathway fits on a page.
const (
	longest     = 100
	longestFile = 500
	longestVerb = 40
	medianFunc  = 10
	p95Func     = 60
	documented  = 0.95 // share of exported names in calc with a comment
)
