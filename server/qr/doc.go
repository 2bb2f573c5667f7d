// Package qr draws an address as a QR code, in a terminal and as SVG.
package qr
