package main

import (
	"strings"
	"testing"
)

func TestTally(t *testing.T) {
	const passing = `{"Action":"run","Package":"p","Test":"TestA"}
{"Action":"output","Package":"p","Test":"TestA","Output":"{\"Action\":\"fail\",\"Test\":\"X\"}\n"}
{"Action":"pass","Package":"p","Test":"TestA","Elapsed":0}
{"Action":"pass","Package":"p","Elapsed":0.1}
{"Action":"skip","Package":"q","Elapsed":0}
`
	const skipping = `{"Action":"output","Package":"p","Test":"TestB","Output":"    a_test.go:3: no browser here\n"}
{"Action":"output","Package":"p","Test":"TestB","Output":"--- SKIP: TestB (0.00s)\n"}
{"Action":"skip","Package":"p","Test":"TestB"}
`
	for _, c := range []struct {
		name, in string
		strict   bool
		want     sum
		says     string
	}{
		{"pass", passing, false, sum{passed: 1}, "ok   p 0.1 s"},
		{"skip", passing + skipping, false, sum{passed: 1, skipped: 1}, "skip p TestB: a_test.go:3: no browser here"},
		{"strict skip", passing + skipping, true, sum{passed: 1, failed: 1}, "skip p TestB"},
		{"fail", `{"Action":"output","Package":"p","Test":"TestC","Output":"want 1\n"}` + "\n" +
			`{"Action":"fail","Package":"p","Test":"TestC"}` + "\n" + `{"Action":"fail","Package":"p","Elapsed":2}`, false, sum{failed: 1}, "FAIL p TestC\nwant 1\nFAIL p 2.0 s, 1 failed"},
		{"no build", `{"ImportPath":"p [p.test]","Action":"build-output","Output":"a.go:1: undefined: x\n"}` + "\n" +
			`{"ImportPath":"p [p.test]","Action":"build-fail"}` + "\n" + `{"Action":"fail","Package":"p","FailedBuild":"p [p.test]"}`, false, sum{failed: 1}, "undefined: x"},
		{"panic", `{"Action":"output","Package":"p","Test":"TestD","Output":"panic: boom\n"}` + "\n" + `{"Action":"fail","Package":"p"}`, false, sum{failed: 1}, "panic: boom"},
		{"noise", "go: downloading x\n" + passing, false, sum{passed: 1}, "go: downloading x"},
		{"nothing", "", false, sum{}, ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			var out strings.Builder
			tl := newTally(&out)
			if err := tl.read(strings.NewReader(c.in)); err != nil {
				t.Fatal(err)
			}
			if got := tl.sum(c.strict); got != c.want || !strings.Contains(out.String(), c.says) {
				t.Errorf("sum %+v, want %+v; said:\n%s", got, c.want, out.String())
			}
		})
	}
}
