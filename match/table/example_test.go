package table_test

import (
	"fmt"
	"log"
	"strings"

	"toneplumb/match/table"
)

// A table as a spreadsheet with decimal commas saves it.
func Example() {
	sheet := "render;freq_hz;gain_db\n1;1,2k;-3,5\n"
	rows, err := table.Read(strings.NewReader(sheet), []string{"render", "freq_hz", "gain_db"})
	if err != nil {
		log.Fatal(err)
	}
	hz, err := rows[0].Number("freq_hz", 20, 20000)
	if err != nil {
		log.Fatal(err)
	}
	fmt.Println(rows[0].Line, hz)
	// Output: 2 1200
}
