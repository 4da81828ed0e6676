package report

// Block is a piece of a result for a page: a table, paragraphs, or both.
type Block struct {
	Heading string     `json:"heading"` // "" for none
	Head    []string   `json:"head"`    // of the table's columns
	Rows    [][]string `json:"rows"`    // the first cell is the row's name; empty for no table
	Items   []Item     `json:"items"`
}

// Item is one or more paragraphs. Lead comes before the first, in bold.
type Item struct {
	Lead       string   `json:"lead"`
	Paragraphs []string `json:"paragraphs"`
}

// Paragraphs returns a block with one paragraph for each sentence that is not empty. The block
// is empty if there is none.
func Paragraphs(heading string, sentences ...string) Block {
	b := Block{Heading: heading}
	for _, s := range sentences {
		if s != "" {
			b.Items = append(b.Items, Item{Paragraphs: []string{s}})
		}
	}
	return b
}

// Filled returns the blocks that have rows or items.
func Filled(blocks ...Block) []Block {
	var filled []Block
	for _, b := range blocks {
		if len(b.Rows) > 0 || len(b.Items) > 0 {
			filled = append(filled, b)
		}
	}
	return filled
}

// WatchOut is the heading of the findings worth acting on.
const WatchOut = "Watch out"
