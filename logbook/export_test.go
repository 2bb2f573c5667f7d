package logbook

// KnownMembers is for the tests of what is stored.
var KnownMembers = knownMembers
