package report

// Block is a piece of an outcome for a page: a table, paragraphs, or both.
type Block struct {
	Heading string     `json:"heading"` // "" for none
	Head    []string   `json:"head"`    // of the table
	Rows    [][]string `json:"rows"`    // the first cell is a name; none: no table
	Items   []Item     `json:"items"`
}

// Item is one or more paragraphs; the lead stands before the first, in bold.
type Item struct {
	Lead       string   `json:"lead"`
	Paragraphs []string `json:"paragraphs"`
}

// Paragraphs returns a block of sentences, those left out that are empty. Without any it is
// a block of nothing.
func Paragraphs(heading string, sentences ...string) Block {
	b := Block{Heading: heading}
	for _, s := range sentences {
		if s != "" {
			b.Items = append(b.Items, Item{Paragraphs: []string{s}})
		}
	}
	return b
}

// Filled returns the blocks that hold something.
func Filled(blocks ...Block) []Block {
	var filled []Block
	for _, b := range blocks {
		if len(b.Rows) > 0 || len(b.Items) > 0 {
			filled = append(filled, b)
		}
	}
	return filled
}

// WatchOut is the heading of what is worth acting on.
const WatchOut = "Watch out"
