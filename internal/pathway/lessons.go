package pathway

import "linn/internal/teach"

// What lessons are made of.
type (
	LessonStep = teach.Step
	LessonPart = teach.Part
	Operation  = teach.Operation
	Task       = teach.Question
	Amount     = teach.Amount
	Topic      = teach.Topic
)

// Parts of a step and the operations that are taught, in their order.
var (
	LessonParts = teach.Parts
	Operations  = teach.Operations
)

// MostQuestions is the longest paper.
const MostQuestions = 60

// LessonSteps are the steps of an operation in their order.
func LessonSteps(o Operation) []LessonStep { return teach.Steps(o) }

// Topics of questions up to a level, in the order of an eye's way.
func Topics(level int) (list []Topic) {
	for _, t := range teach.Topics() {
		if t.Level <= level {
			list = append(list, t)
		}
	}
	return list
}

// QuestionPaper is n questions by a seed: of one topic, or of all up to the
// level when none is named. Nothing is kept.
func QuestionPaper(seed uint64, n int, topic string, level int) ([]Task, error) {
	topics := []string{topic}
	if topic == "" {
		topics = nil
		for _, t := range Topics(level) {
			topics = append(topics, t.Key)
		}
	}
	return teach.Paper(seed, min(max(n, 1), MostQuestions), topics)
}
