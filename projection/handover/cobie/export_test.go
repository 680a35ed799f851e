package cobie

// Clean is a text as a cell holds it.
var Clean = clean
