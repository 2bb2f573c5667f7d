package amend

// NaturalKeys is what twins are known by.
var NaturalKeys = naturalKeys
