// Package register lays a site out as the tables of COBie 2.4, and says what they
// lack: what a facility owner's register of assets takes in. It is pure and knows
// nothing of files; package cobie writes the workbook.
//
// # The cast
//
// [Of] makes a [Book] of a history at a moment: its [Sheet]s, whose columns the
// standard fixes, and the [Asks], one for each column that the log can't fill.
// Nothing is invented. A cell that nobody told holds "n/a", which is how COBie
// writes what is not known, and its row stands in an Ask. Where checkers of COBie
// refuse n/a (a key, such as CreatedBy, or a category), it stands there all the
// same, and the Ask says that the office must find the value: [Ask.Needed].
//
// # What stands where
//
//	Contact    members whose contact is an e-mail address, which is the key in
//	           COBie; and makers that the schedule names by one. Two members with
//	           one address are one row. The name as it joined is the given name:
//	           the log keeps one name and can't part it.
//	Facility   the site. It is metres that elevations are in.
//	Floor      floors listed, and those only named. Elevation where it was told;
//	           what level times a usual height would give is not a fact.
//	Space      rooms listed, and those only named. A room on several floors, such
//	           as a stairwell, has no floor.
//	Type       a row for each maker, model, type and kind; more than one where the
//	           warranty differs, since COBie keeps warranties here. The schedule's
//	           warranty is taken to be on parts (common practice, no source).
//	           An asset is Fixed where the schedule says of all of its kind that
//	           mains feeds it, as by a circuit; what is only taken to be, n/a.
//	Component  every position that is not struck, and every hub. Name and TagNumber
//	           are the tag. InstallationDate is the day the unit that sits there now
//	           was first said to: replaced, or else fitted or paired.
//	           BarCode is the label's public text, read once more so that
//	           nothing in it can be a secret.
//	System     one for each hub, with what is paired to it or else listed on it, and
//	           one for each circuit, with what it feeds: an owner asks what
//	           else goes out, by radio and by breaker.
//	Attribute  emergency and state of each device, radio and power where they are
//	           not what a schedule that says nothing is taken to mean (mesh;
//	           mains, or a battery for a sensor: the log does not keep whether
//	           anybody said so), and the channels and program of each hub
//	Issue      open faults. Impact is the log's severity.
//
// Categories are the log's own words (the kind of device, a member's role, a room's
// geometry), not a classification such as OmniClass; an Ask says so. There is no
// Zone (a hub's rooms are no zone that anybody uses) and no Document (the files of
// a pack are listed in the pack).
//
// CreatedBy and CreatedOn are who recorded the entry behind a row, and when it
// happened; ExtObject is its kind and ExtIdentifier its reference. A row that no
// entry lists by itself has the first entry that names it.
//
// # Laws
//
// Keys hold: CreatedBy, Manufacturer and Owner are in Contact.Email, FloorName in
// Floor.Name, Space in Space.Name, TypeName in Type.Name, ComponentNames in
// Component.Name, or else n/a. Names of a sheet differ by more than case and
// spaces: the second of two alike is "… (2)". COBie parts lists at commas, so a
// comma in a name becomes a semicolon. A list longer than a cell goes on in a
// further row of the same name, as the key of System (name, category, components)
// lets it. Order and names depend on the facts alone.
//
// # Sources
//
// Columns and their order: the COBie 2.4 templates and the rules (COBieRules.sch)
// published with the open-source COBie plug-ins of opensourceBIM and IBM's COBie
// parser; the Issue sheet is from one checker's open schema and from memory. That
// n/a stands for what is not known, which columns refuse it, and that times are
// written YYYY-MM-DDTHH:MM:SS: the same rules. The words of COBie's own lists that
// are used here, meters, month, Fixed, Floor and As Built, are from memory. The text
// of NBIMS-US V3 §4.2 itself was not at hand.
package register
