package papers_test

import (
	"log"
	"os"

	"toneplumb/biquad"
	"toneplumb/match/training"
	"toneplumb/match/training/papers"
)

// A student who heard everything.
func Example() {
	hidden := [][]biquad.Filter{{{Shape: biquad.Bell, FreqHz: 1000, GainDB: 6, Q: 1}}}
	answers := &training.Answers{Mix: "mix.wav", RateHz: 48000, Tasks: hidden}
	class := &papers.Class{Answers: answers, Students: []papers.Student{papers.Mark("Anna", answers, hidden)}}
	if err := papers.WriteCSV(os.Stdout, class); err != nil {
		log.Fatal(err)
	}
	// Output:
	// student,lesson,score_percent,hidden,found,wrong_way,not_found,missed,invented,left_db,no_answer_db,remark
	// Anna,,100,1,1,0,0,0,0,0.00,1.71,
}
