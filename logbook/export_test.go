package logbook

// KnownMembers is for the tests of what is stored.
var KnownMembers = knownMembers

// MostWaiting is for the test of what waits while the book is read.
const MostWaiting = mostWaiting

// BeginFilling is for the test of how much garbage may lie.
var BeginFilling = beginFilling
