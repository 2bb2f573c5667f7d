// Package phone serves the phone app: the files that Vite built of server/phone/app, with the
// engine among them, out of the program itself.
package phone
