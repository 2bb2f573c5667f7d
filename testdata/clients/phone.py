"""A phone of a film set, written from /openapi.yaml and /rows.md of a server alone.

It holds every edit that it made or was sent, and exchanges with a server in the readable
form or in rows. It reads commands from its input, a line each, and answers each with lines
of which the last is a full stop.
"""

import base64
import calendar
import hashlib
import http.client
import json
import os
import subprocess
import sys
import tempfile
import time
import urllib.parse

ROWS, READABLE = "application/vnd.evenwhite.rows", "application/json"


def base64url(b):
    return base64.urlsafe_b64encode(b).rstrip(b"=").decode()


class Key:
    """A key of the device, on P-256, and proofs by it (RFC 9449). Its mathematics are openssl's."""

    def __init__(self):
        self.file = tempfile.NamedTemporaryFile()
        self.file.write(self.openssl(b"", "ecparam", "-name", "prime256v1", "-genkey", "-noout"))
        self.file.flush()
        point = self.openssl(b"", "ec", "-in", self.file.name, "-pubout", "-outform", "DER")[-64:]
        self.jwk = {"kty": "EC", "crv": "P-256", "x": base64url(point[:32]), "y": base64url(point[32:])}

    def openssl(self, said, *args):
        return subprocess.run(("openssl",) + args, input=said, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, check=True).stdout

    def proof(self, method, url, token, nonce):
        claims = {"jti": os.urandom(16).hex(), "htm": method, "htu": url, "iat": int(time.time())}
        if nonce:
            claims["nonce"] = nonce
        if token:
            claims["ath"] = base64url(hashlib.sha256(token.encode()).digest())
        parts = ({"typ": "dpop+jwt", "alg": "ES256", "jwk": self.jwk}, claims)
        signed = ".".join(base64url(json.dumps(part).encode()) for part in parts)
        der = self.openssl(signed.encode(), "dgst", "-sha256", "-sign", self.file.name)
        r = der[4:4 + der[3]]
        s = der[6 + der[3]:]
        return signed + "." + base64url(b"".join(n.lstrip(b"\0").rjust(32, b"\0") for n in (r, s)))


class Number(str):
    """A number as it was typed."""


def parse(text):
    return json.loads(text, parse_float=Number, parse_int=Number)


def write(value):
    """A value in its one spelling: also that of the bytes of an edit."""
    if isinstance(value, Number):
        return str(value)
    if isinstance(value, str):
        out = ['"']
        for c in value:
            named = {'"': '\\"', "\\": "\\\\", "\n": "\\n", "\r": "\\r", "\t": "\\t"}.get(c)
            out.append(named or (f"\\u{ord(c):04x}" if c < " " else c))
        return "".join(out) + '"'
    if isinstance(value, bool) or value is None:
        return json.dumps(value)
    if isinstance(value, int):
        return str(value)
    if isinstance(value, list):
        return "[" + ",".join(write(item) for item in value) + "]"
    names = sorted(value, key=lambda name: name.encode())
    return "{" + ",".join(write(name) + ":" + write(value[name]) for name in names) + "}"


def uvarint(n):
    out = b""
    while n > 127:
        out, n = out + bytes([n & 127 | 128]), n >> 7
    return out + bytes([n])


def varint(n):
    return uvarint(2 * n if n >= 0 else -2 * n - 1)


def text(s):
    return uvarint(len(s.encode())) + s.encode()


def ident(id):
    return bytes.fromhex(id.replace("-", ""))


def split(dot):
    line, n = dot.split(".")
    return line, int(n)


def dot_of(edit):
    return f"{edit['line']}.{edit['n']}"


def millis(at):
    fraction = (at[20:-1] + "000")[:3]
    return calendar.timegm(time.strptime(at[:19], "%Y-%m-%dT%H:%M:%S")) * 1000 + int(fraction)


def instant(ms):
    return time.strftime("%Y-%m-%dT%H:%M:%S", time.gmtime(ms // 1000)) + f".{ms % 1000:03d}Z"


KNOWN = {"production", "kind", "record", "device", "line", "n", "at", "offsetMs", "by", "act", "set", "over"}


def bytes_of(e):
    """The one byte form of an edit (/rows.md)."""
    b = b"\x01" + ident(e["production"]) + ident(e["record"]) + ident(e["device"])
    b += bytes.fromhex(e["line"]) + uvarint(int(e["n"])) + text(e["kind"])
    b += varint(millis(e["at"])) + varint(int(e.get("offsetMs", 0))) + text(e.get("by", ""))
    if "act" not in e:
        b += b"\x00"
    else:
        line, n = split(e["act"])
        b += b"\x01" + uvarint(n) if line == e["line"] else b"\x02" + bytes.fromhex(line) + uvarint(n)
    b += uvarint(len(e["set"]))
    for field in sorted(e["set"], key=lambda name: name.encode()):
        b += text(field) + text(write(e["set"][field]))
        over = sorted((split(d) for d in e.get("over", {}).get(field, [])))
        b += uvarint(len(over)) + b"".join(bytes.fromhex(line) + uvarint(n) for line, n in over)
    more = sorted((name for name in e if name not in KNOWN), key=lambda name: name.encode())
    return b + uvarint(len(more)) + b"".join(text(name) + text(write(e[name])) for name in more)


def hash_of(e):
    return hashlib.sha256(bytes_of(e)).digest()[:16]


def chain_over(edits):
    chain = bytes(8)
    for e in edits:
        chain = hashlib.sha256(chain + hash_of(e)).digest()[:8]
    return base64.urlsafe_b64encode(chain).rstrip(b"=").decode()


class Held:
    """Which numbers of each line are held."""

    def __init__(self, spans=None):
        self.lines = {}
        for line, held in (spans or {}).items():
            for first, last in held:
                self.lines.setdefault(line, set()).update(range(int(first), int(last) + 1))

    def add(self, dot):
        line, n = split(dot)
        self.lines.setdefault(line, set()).add(n)

    def __contains__(self, dot):
        line, n = split(dot)
        return n in self.lines.get(line, ())

    def spans(self):
        out = {}
        for line, held in self.lines.items():
            spans = []
            for n in sorted(held):
                if spans and spans[-1][1] == n - 1:
                    spans[-1][1] = n
                else:
                    spans.append([n, n])
            out[line] = spans
        return out


class Unreadable(Exception):
    """Rows leave out a record that is not held here, or were changed on their way."""


def write_rows(request):
    rows = [["rows", 1]]
    rows += [[name, request[name]] for name in ("run", "cursor") if name in request]
    if request.get("whole"):
        rows.append(["whole"])
    for line, spans in request.get("have", {}).items():
        rows.append(["have", line] + [n for span in spans for n in span])
    edits, numbers, last = request.get("edits", []), {}, {}

    def number(*row):
        if row not in numbers:
            numbers[row] = sum(1 for other in numbers if other[0] == row[0])
            rows.append(list(row))
        return numbers[row]

    act = None
    for e in edits:
        line, device, person = number("line", e["line"]), number("device", e["device"]), number("person", e.get("by", ""))
        rows.append(["in", line, int(e["n"]), device, person, int(e.get("offsetMs", 0))])
        if e.get("act") != act:
            act = e.get("act")
            rows.append(["act", number("line", split(act)[0]), split(act)[1]] if act else ["act"])
        rows.append(["of", e["record"], e["kind"]])
        rows += [["also", name, e[name]] for name in e if name not in KNOWN]
        row = [millis(e["at"]) - last.get(e["line"], 0)]
        for field in sorted(e["set"], key=lambda name: name.encode()):
            over = sorted(split(d) for d in e.get("over", {}).get(field, []))
            row += [number("field", field, len(over)), e["set"][field]]
            for named, n in over:
                row += [number("line", named), n]
        rows.append(row)
        last[e["line"]] = millis(e["at"])
    if edits:
        rows.append(["check", chain_over(edits)])
    rows.append(["end", len(edits)])
    return "".join(write(row) + "\n" for row in rows)


class RowsReader:
    def __init__(self, production, held):
        self.production, self.held = production, held
        self.answer = {"answers": [], "edits": []}
        self.above, self.checked = {}, 0
        self.forget()
        self.of, self.also = None, {}

    def forget(self):
        self.lines, self.devices, self.persons, self.fields, self.records = [], [], [], [], []
        self.state, self.line, self.act = {}, None, None

    def read(self, body):
        rows = [parse(row) for row in body.split("\n")[:-1]]
        if not rows or rows[0] != ["rows", "1"] or rows[-1][0] != "end" or not body.endswith("\n"):
            raise Unreadable("it was cut off")
        for row in rows[1:]:
            self.row(row)
        return self.answer

    def row(self, row):
        a, name, rest = self.answer, row[0], row[1:]
        if isinstance(name, Number):
            self.edit(row)
        elif name in ("run", "log"):
            a[name] = rest[0]
        elif name == "now":
            a["now"] = int(rest[0])
        elif name == "rules":
            a["rules"] = int(rest[0])
        elif name == "reset":
            a["reset"] = True
        elif name == "list":
            spans = a.setdefault("list", {})
            if rest:
                numbers = [int(n) for n in rest[1:]]
                spans[rest[0]] = [list(span) for span in zip(numbers[::2], numbers[1::2])]
        elif name in ("taken", "repeat", "refused", "clash", "aside", "later"):
            for n in range(int(rest[1]), int(rest[2]) + 1):
                a["answers"].append({"dot": f"{rest[0]}.{n}", "outcome": name, "reason": "".join(rest[3:])})
        elif name == "mark":
            a.setdefault("refused", []).append({"dot": f"{rest[0]}.{rest[1]}", "reason": rest[2]})
        elif name == "tables":
            self.forget()
        elif name in ("line", "device", "person"):
            getattr(self, name + "s").append(rest[0])
        elif name == "field":
            self.fields.append((rest[0], int(rest[1])))
        elif name == "in":
            self.line = self.lines[int(rest[0])]
            state = self.state.setdefault(self.line, {"at": 0})
            if len(rest) > 1:
                state["n"] = int(rest[1])
            if len(rest) > 2:
                state.update(device=self.devices[int(rest[2])], by=self.persons[int(rest[3])], offsetMs=int(rest[4]))
        elif name == "act":
            self.act = f"{self.lines[int(rest[0])]}.{rest[1]}" if rest else None
        elif name == "of":
            if isinstance(rest[0], Number):
                self.of = self.records[int(rest[0])]
            else:
                self.of = (rest[0], rest[1])
                self.records.append(self.of)
        elif name == "also":
            self.also[rest[0]] = rest[1]
        elif name == "check":
            if chain_over(a["edits"][self.checked:]) != rest[0]:
                raise Unreadable("the chain is another")
            self.checked = len(a["edits"])
        elif name == "end":
            if int(rest[0]) != len(a["edits"]) or self.checked != len(a["edits"]):
                raise Unreadable("edits are missing")
            a["cursor"], a["more"] = rest[1], rest[2]
        else:
            raise Unreadable(f"a row {name}")

    def edit(self, row):
        state = self.state[self.line]
        state["at"] += int(row[0])
        e = {"production": self.production, "device": state["device"], "line": self.line, "n": state["n"],
             "at": instant(state["at"]), "offsetMs": state["offsetMs"], "by": state["by"], "set": {}, "over": {}}
        if self.act:
            e["act"] = self.act
        e.update(self.also)
        i, first = 1, None
        while i < len(row):
            field, k = self.fields[int(row[i])]
            e["set"][field] = row[i + 1]
            dots = [f"{self.lines[int(row[j])]}.{row[j + 1]}" for j in range(i + 2, i + 2 + 2 * k, 2)]
            if dots:
                e["over"][field], first = dots, first or dots[0]
            i += 2 + 2 * k
        of = self.of or self.above.get(first)
        if of is None and first in self.held:
            of = (self.held[first]["record"], self.held[first]["kind"])
        if of is None:
            raise Unreadable("a record that is not held here")
        e["record"], e["kind"] = of
        state["n"] += 1
        self.of, self.also = None, {}
        self.above[dot_of(e)] = of
        self.answer["edits"].append(e)


class Phone:
    def __init__(self):
        self.edits, self.aside = {}, {}
        self.line, self.n = None, 0
        self.offset = 0
        self.forget()
        self.holds, self.catching = Held(), False
        self.key, self.nonce = Key(), None
        self.token = self.device = self.production = None

    def forget(self):
        self.run = self.cursor = None

    # What a person does.

    def pair(self, server, code):
        self.server = urllib.parse.urlsplit(server)
        admission = self.ask("POST", "/v1/pairing", {"code": code, "label": "a phone in another language"})
        self.token, self.device = admission["token"], admission["device"]
        return [self.device]

    def at(self, server):
        """The same server at another address, perhaps restored."""
        self.server = urllib.parse.urlsplit(server)
        return []

    def begin(self, title):
        made = self.ask("POST", "/v1/productions", {"title": title, "timeZone": "Europe/Berlin", "frameRate": "25", "gelFamily": "based5500"})
        self.production = made["id"]
        return [self.production]

    def join(self, production):
        self.production = production
        return []

    def invite(self, role):
        return [self.ask("POST", "/v1/invitations", {"role": role, "label": "another phone", "production": self.production})["code"]]

    def log(self, count, length):
        """Makes edits: clips with numbers in odd spellings, each changed once, and notes."""
        spellings = ["24.00", "2.4e1", "25", "23.9760", "120.5"]
        made = []
        for i in range(int(count)):
            spelled = Number(spellings[i % len(spellings)])
            if i % 3 == 0:
                made.append(self.make("note", self.draw(), {"about": self.production, "text": "ünïcode \"and\" \\ more\n" + "x" * int(length)}))
            elif i % 3 == 1:
                clip = self.draw()
                made.append(self.make("clip", clip, {"sensorRate": spelled, "timecode/drop": False}))
            else:
                made.append(self.make("clip", clip, {"sensorRate": Number("48.000")}, {"sensorRate": [dot_of(made[-1])]}))
        return [dot_of(e) for e in made]

    def spoil(self):
        """Makes what is no edit: its time has a zone."""
        e = self.make("note", self.draw(), {"text": "never taken"})
        e["at"] = e["at"].replace("Z", "+01:00")
        return [dot_of(e)]

    def make(self, kind, record, fields, over=None):
        if self.line is None:
            self.line, self.n = os.urandom(8).hex(), 0
        self.n += 1
        e = {"production": self.production, "kind": kind, "record": record, "device": self.device, "line": self.line, "n": self.n,
             "at": instant(int(time.time() * 1000)), "offsetMs": self.offset, "by": "2nd AC", "set": fields, "over": over or {}}
        self.edits[dot_of(e)] = e
        return e

    def draw(self):
        """A UUID of version 7."""
        h = f"{int(time.time() * 1000):012x}7{os.urandom(2).hex()[:3]}8{os.urandom(8).hex()[:15]}"
        return f"{h[:8]}-{h[8:12]}-{h[12:16]}-{h[16:20]}-{h[20:]}"

    # The exchange.

    def exchange(self, form):
        done = {"calls": 0, "got": 0, "resets": 0, "halved": 0, "lists": 0, "unreadable": 0}
        most, whole = 10**6, False
        while True:
            request = {}
            if self.run:
                request.update(run=self.run, cursor=self.cursor)
            if self.catching:
                request["have"] = self.all().spans()
            lacked = sorted((d for d in self.edits if d not in self.holds and d not in self.aside), key=split)[:most]
            request["edits"] = [self.edits[d] for d in lacked]
            if whole:
                request["whole"] = True
            status, answer = self.call(request, form)
            done["calls"] += 1
            if status in (400, 413) and len(lacked) > 1:
                most, done["halved"] = len(lacked) // 2, done["halved"] + 1
                continue
            if status in (400, 413) and lacked:
                self.aside[lacked[0]] = answer
                most = 10**6
                continue
            if status == 400 and self.run:
                self.forget()
                continue
            if status != 200:
                raise RuntimeError(f"{status}: {answer}")
            if answer is None:
                whole, done["unreadable"] = True, done["unreadable"] + 1
                continue
            whole = False
            done["got"] += len(answer["edits"])
            done["resets"] += answer.get("reset", False)
            done["lists"] += "list" in answer
            self.take(answer)
            if not answer["more"] and not any(d not in self.holds and d not in self.aside for d in self.edits):
                return [" ".join(f"{name}={n}" for name, n in done.items())]

    def all(self):
        held = Held()
        for dot in self.edits:
            if dot not in self.aside:
                held.add(dot)
        return held

    def call(self, request, form):
        if form == "rows":
            body, kind, accept = write_rows(request), ROWS, ROWS + ";knows=aside+mark"
        else:
            body, kind = write({name: value for name, value in request.items() if name != "whole"}), READABLE
            accept = READABLE
        status, got, body = self.send("POST", f"/v1/productions/{self.production}/exchange", body, {"Content-Type": kind, "Accept": accept})
        if status != 200:
            return status, parse(body)
        if got.startswith(ROWS):
            try:
                return status, RowsReader(self.production, self.edits).read(body)
            except Unreadable:
                return status, None
        return status, parse(body)

    def take(self, answer):
        self.run, self.cursor = answer["run"], answer["cursor"]
        if "list" in answer:
            self.holds = Held(answer["list"])
        for e in answer["edits"]:
            self.edits.setdefault(dot_of(e), e)
            self.holds.add(dot_of(e))
        for a in answer["answers"]:
            if a["outcome"] == "later":
                continue
            self.holds.add(a["dot"])
            if a["outcome"] == "clash" and split(a["dot"])[0] == self.line:
                self.line = None  # somebody else writes in it
        now = answer["now"] if isinstance(answer["now"], int) else millis(answer["now"])
        self.offset = now - int(time.time() * 1000)
        self.catching = answer.get("reset", False) or self.catching and answer["more"]

    def wait(self):
        """Waits until the log has gone on since the last exchange."""
        line = self.connection()
        path = f"/v1/productions/{self.production}/events"
        line.request("GET", path, headers={**self.shows("GET", path), "Last-Event-ID": self.cursor})
        with line.getresponse() as answer:
            for row in answer:
                if row.startswith(b"data:"):
                    return [row[5:].strip().decode()]
        raise RuntimeError("the stream ended")

    def hold(self):
        return [f"{dot} {hash_of(e).hex()}" for dot, e in sorted(self.edits.items()) if dot not in self.aside]

    def refused(self):
        return sorted(self.aside)

    # HTTP.

    def connection(self):
        return http.client.HTTPConnection(self.server.hostname, self.server.port, timeout=120)

    def shows(self, method, path):
        """The headers that show whose a request is."""
        address = f"{self.server.scheme}://{self.server.netloc}{path}"
        proof = {"DPoP": self.key.proof(method, address, self.token, self.nonce)}
        return {**proof, "Authorization": f"DPoP {self.token}"} if self.token else proof

    def send(self, method, path, body, headers):
        line = self.connection()
        line.request(method, path, body.encode(), {**headers, **self.shows(method, path)})
        answer = line.getresponse()
        got = answer.status, answer.headers.get("Content-Type", ""), answer.read().decode()
        self.nonce = answer.headers.get("DPoP-Nonce", self.nonce)
        why = parse(got[2])["type"].rpartition(":")[2] if got[0] == 401 else None
        if why == "nonce":
            return self.send(method, path, body, headers)
        if why in ("expired", "bad-token") and self.token:
            self.token = None
            self.token = self.ask("POST", "/v1/token", {})["token"]
            return self.send(method, path, body, headers)
        return got

    def ask(self, method, path, value):
        status, _, body = self.send(method, path, write(value), {"Content-Type": READABLE})
        if status >= 400:
            raise RuntimeError(f"{path}: {status}: {body}")
        return parse(body)


def main():
    phone = Phone()
    for command in sys.stdin:
        name, *args = command.split()
        for row in getattr(phone, name)(*args):
            print(row)
        print(".", flush=True)


if __name__ == "__main__":
    main()
