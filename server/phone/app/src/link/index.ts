// The way to the server: pairing, the phone's key, the exchange of edits, being woken.
export { Link, type Told } from "./link";
export { Refused, Server, Unreachable, type Admission } from "./server";
