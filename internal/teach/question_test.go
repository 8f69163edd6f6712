package teach

import (
	"bytes"
	"encoding/json"
	"math"
	"os"
	"os/exec"
	"reflect"
	"slices"
	"testing"
)

// short and full numbers of questions.
func many() int {
	if os.Getenv("LINN_FULL") != "" {
		return 10_000
	}
	return 360
}

// Every answer is that of a second implementation in another language, written
// from the printed formulas: 10,000 questions in full.
func TestSecondImplementation(t *testing.T) {
	paper, err := Paper(20261125, many(), nil)
	if err != nil {
		t.Fatal(err)
	}
	type asked struct {
		Topic string             `json:"topic"`
		Given map[string]float64 `json:"given"`
	}
	var in []asked
	for _, q := range paper {
		a := asked{q.Topic, map[string]float64{}}
		for _, g := range q.Given {
			a.Given[g.Name] = g.Value
		}
		in = append(in, a)
	}
	raw, err := json.Marshal(in)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command("python3", "testdata/second.py")
	cmd.Stdin, cmd.Stderr = bytes.NewReader(raw), os.Stderr
	said, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	var want []float64
	if err := json.Unmarshal(said, &want); err != nil || len(want) != len(paper) {
		t.Fatal(err, len(want))
	}
	// Both work in double precision on the same printed numbers.
	const same = 1e-8
	for i, q := range paper {
		if math.Abs(q.Answer.Value-want[i]) > same*math.Max(1, math.Abs(want[i])) {
			t.Errorf("%s %v: %v here, %v there", q.Topic, q.Given, q.Answer.Value, want[i])
		}
	}
	t.Log(len(paper), "questions")
}

// The same seed prints the same paper, another one another; no two choices are
// the same when rounded, and the right one is among them.
func TestPaper(t *testing.T) {
	n := many()
	one, err := Paper(7, n, nil)
	if err != nil {
		t.Fatal(err)
	}
	two, err := Paper(7, n, nil)
	if err != nil || !reflect.DeepEqual(one, two) {
		t.Error("the same seed, another paper", err)
	}
	if other, err := Paper(8, n, nil); err != nil || reflect.DeepEqual(one, other) {
		t.Error("another seed, the same paper", err)
	}
	places := map[int]int{}
	for _, q := range one {
		list, right := q.Choices()
		if right < 0 || list[right] != q.Answer || len(list) < 3 {
			t.Fatalf("%+v: %v, %d", q, list, right)
		}
		places[right]++
		seen := map[string]bool{}
		for _, c := range list {
			if seen[c.String()] {
				t.Errorf("%s: %s twice", q.Topic, c)
			}
			seen[c.String()] = true
		}
		for _, s := range q.Slips {
			if q.Right(s.Value) {
				t.Errorf("%s: the slip %s counts as right", q.Topic, s.Name)
			}
			if name, known := q.Mistaken(s.Value); !known || name != s.Name {
				t.Errorf("%s: the slip %s is taken for %s", q.Topic, s.Name, name)
			}
		}
		printed := math.Round(q.Answer.Value/q.Answer.last()) * q.Answer.last()
		if !q.Right(printed) || q.Right(printed+2.5*q.Answer.last()) {
			t.Errorf("%s: the printed answer %v is not taken, or one beside it is", q.Topic, printed)
		}
		if name, known := q.Mistaken(q.Answer.Value); known {
			t.Errorf("%s: the answer is taken for the slip %s", q.Topic, name)
		}
	}
	for place := range 3 {
		if places[place] < n/10 {
			t.Errorf("the answer stands at %v: too seldom at %d", places, place)
		}
	}
}

// Givens print as the number they are, every topic is asked, and every slip is
// seen sometimes.
func TestTopics(t *testing.T) {
	if _, err := Ask("nothing", 1); err != errNoTopic {
		t.Error(err)
	}
	var keys []string
	for _, topic := range allTopics {
		if slices.Contains(keys, topic.key) {
			t.Error(topic.key, "twice")
		}
		keys = append(keys, topic.key)
		slips := map[string]bool{}
		for seed := range uint64(60) {
			q, err := Ask(topic.key, seed)
			if err != nil {
				t.Fatal(topic.key, err)
			}
			for _, g := range q.Given {
				if math.Abs(g.Value/g.last()-math.Round(g.Value/g.last())) > 1e-9 {
					t.Errorf("%s: %s prints as %s and is %v", topic.key, g.Name, g, g.Value)
				}
			}
			for _, s := range q.Slips {
				slips[s.Name] = true
			}
		}
		for _, s := range topic.slips {
			if !slips[s.name] {
				t.Errorf("%s: the slip %s is never seen", topic.key, s.name)
			}
		}
	}
	if len(keys) != len(Topics()) || len(keys) < 18 {
		t.Error(keys)
	}
}
