package teach

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"

	"linn/unit"
)

// Amount is a number as a paper prints it.
type Amount struct {
	Value    float64
	Unit     string
	Decimals int
	Signed   bool // + or − always stands before it
}

// String prints the amount with its unit.
func (a Amount) String() string {
	text := unit.Fixed(a.Value, a.Decimals)
	if a.Signed {
		text = unit.Signed(a.Value, a.Decimals)
	}
	if a.Unit == "" {
		return text
	}
	return text + unit.Thin + a.Unit
}

// last is one unit of the last printed digit.
func (a Amount) last() float64 { return math.Pow10(-a.Decimals) }

// Given is one number that a question states. Name is a key for locale.
type Given struct {
	Name string
	Amount
}

// Slip is the answer that a known mistake leads to. Name is a key for locale.
type Slip struct {
	Name string
	Amount
}

// Question is one question with its answer. The answer and every slip are
// worked out from the numbers as they are printed.
type Question struct {
	Topic  string // a key for locale: "teach.TOPIC"
	Level  int    // 1: one formula; 2: two steps; 3: a whole eye
	Seed   uint64
	Given  []Given
	Answer Amount
	Slips  []Slip // each at least apart from the answer and from the others
}

// apart is how many units of the last digit must lie between two choices: more
// than what rounding on the way can move an answer.
const apart = 3

// Right says whether a typed answer is right: within one unit of the last digit
// that was asked for, since a student rounds on the way.
func (q *Question) Right(typed float64) bool {
	return math.Abs(typed-q.Answer.Value) <= q.Answer.last()*(1+1e-9)
}

// Mistaken finds the known mistake that leads to a typed answer.
func (q *Question) Mistaken(typed float64) (slip string, known bool) {
	for _, s := range q.Slips {
		if math.Abs(typed-s.Value) <= s.last()*(1+1e-9) {
			return s.Name, true
		}
	}
	return "", false
}

// Choices are the answer and the slips in the order of the paper, and the place
// of the right one.
func (q *Question) Choices() (list []Amount, right int) {
	list = []Amount{q.Answer}
	for _, s := range q.Slips {
		list = append(list, s.Amount)
	}
	r := rand.New(rand.NewPCG(q.Seed, 7))
	r.Shuffle(len(list), func(i, j int) { list[i], list[j] = list[j], list[i] })
	return list, slices.Index(list, q.Answer)
}

// errNoTopic and errBare are mistakes of the caller and of a topic.
var (
	errNoTopic = errors.New("teach: no such topic")
	errBare    = errors.New("teach: no numbers leave a topic with two slips apart from its answer")
)

// Ask makes the question of a topic that belongs to a seed: the same seed, the
// same question. The error is errNoTopic for a topic that is none.
func Ask(topic string, seed uint64) (Question, error) {
	t := topicNamed(topic)
	if t == nil {
		return Question{}, errNoTopic
	}
	r := rand.New(rand.NewPCG(seed, numbered(topic)))
	for range 200 {
		if q, ok := t.ask(r); ok {
			q.Seed = seed
			return q, nil
		}
	}
	return Question{}, errBare
}

// numbered makes a number of a topic's name, so that topics of one seed are
// drawn apart whatever their order.
func numbered(name string) (n uint64) {
	for _, b := range []byte(name) {
		n = n*131 + uint64(b)
	}
	return n
}

// Paper is n questions by one seed, topics in turn in the order given; all when
// none is.
func Paper(seed uint64, n int, topics []string) (list []Question, err error) {
	if len(topics) == 0 {
		for _, t := range allTopics {
			topics = append(topics, t.key)
		}
	}
	for i := range n {
		q, err := Ask(topics[i%len(topics)], seed+uint64(i/len(topics))*1_000_003)
		if err != nil {
			return nil, err
		}
		list = append(list, q)
	}
	return list, nil
}

// Topic is one kind of question.
type Topic struct {
	Key   string
	Level int
}

// Topics are all there are, in the order of an eye's way.
func Topics() (list []Topic) {
	for _, t := range allTopics {
		list = append(list, Topic{t.key, t.level})
	}
	return list
}
