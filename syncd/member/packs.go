package member

// PackAnswer is a handover pack that was written.
type PackAnswer struct {
	V        int         `json:"v"`
	Folder   string      `json:"folder"`
	Site     StatusSite  `json:"site"`
	Practice bool        `json:"practice"`
	Moment   string      `json:"moment"` // site time
	Entries  int         `json:"entries"`
	Bytes    int64       `json:"bytes"`
	Files    []PackFile  `json:"files"`
	Missing  PackMissing `json:"missing"`
	Signed   string      `json:"signed"` // when and by whom the whole site was handed over, "" not yet
	Next     []string    `json:"next"`   // command lines
}

// PackFile is one file of a pack.
type PackFile struct {
	Name   string `json:"name"`
	Bytes  int64  `json:"bytes"`
	SHA256 string `json:"sha256"`
}

// PackMissing is what a pack says of itself that it lacks.
type PackMissing struct {
	Asks   []PackAsk `json:"asks"`   // what the office has to fill in the sheets
	Photos []string  `json:"photos"` // by SHA-256: told of in the log, and not held here
	Tests  int       `json:"tests"`  // functional tests owed
	Faults int       `json:"faults"` // open
}

// PackAsk is a column of the sheets that the log can't fill.
type PackAsk struct {
	Words  string `json:"words"`
	Needed bool   `json:"needed"` // checkers of the sheets refuse them without
}

// PackCheck is what came of verifying a pack.
type PackCheck struct {
	V        int        `json:"v"`
	Pack     string     `json:"pack"`
	Site     StatusSite `json:"site"`
	Practice bool       `json:"practice"`
	Moment   string     `json:"moment"`
	Entries  int        `json:"entries"`
	Files    int        `json:"files"`
	Maker    PackMaker  `json:"maker"`
	Version  string     `json:"version"`
	Pages    string     `json:"pages"` // made again from the log: all, plain (but for those other tools packed), none
	Notes    []string   `json:"notes"`
	Problems []string   `json:"problems"`
}

// PackMaker is whose seal a pack carries.
type PackMaker struct {
	Name     string `json:"name"`
	Key      string `json:"key"`
	Standing string `json:"standing"` // in the log of the pack; "" where that does not know them
}
