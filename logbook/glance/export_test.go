package glance

// What the tests outside the package see of its inside.

const RingCorners = ringCorners

var WhitesApart = whitesApart
