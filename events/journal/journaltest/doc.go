// Package journaltest is the contract that every store of sealed events keeps,
// with the makers its tests need: authors who say events ([Author]), and folders
// whose calls fail ([Trap]).
//
// A store need not be a journal: [Run] asks only for what [Store] lists. What
// files must survive is no part of it; a journal's own tests see to that.
package journaltest
