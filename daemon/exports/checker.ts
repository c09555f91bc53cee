/** What goes with an export, so that anybody can check it without this program: a script, and commands to type. */

/** Needs Python 3 and openssl 3, nothing else. Exit codes are those of `spyhole verify`. */
export const CHECKER = String.raw`# Checks an exported firing: python3 check_record.py [FINGERPRINT OF THE KEY YOU KNOW]
# Needs openssl 3 and no other package. Ends with 0 = whole, 1 = bad, 2 = cannot be checked, 3 = incomplete.
import base64, hashlib, json, os, subprocess, sys, tempfile
AFTERWORDS = {"note", "correction", "sign-off", "recovered"}
known = "".join(sys.argv[1:]).replace(":", "").replace(" ", "").lower()[:32]
if known and (len(known) < 32 or any(c not in "0123456789abcdef" for c in known)):
    print("Write the 32 digits of the key's fingerprint."); sys.exit(2)
def end(word, code, text): print(f"{word}: {text}"); sys.exit(code)
def bad(text): end("BAD", 1, text)
def name(key): return hashlib.sha256(base64.b64decode(key)).hexdigest()[:32]
def signed(key, text, signature):
    with tempfile.TemporaryDirectory() as folder:
        paths = [os.path.join(folder, n) for n in ("key", "text", "signature")]
        for path, content in zip(paths, (base64.b64decode(key), text.encode(), base64.b64decode(signature))):
            open(path, "wb").write(content)
        words = ["openssl", "pkeyutl", "-verify", "-pubin", "-keyform", "DER", "-inkey", paths[0], "-rawin", "-in", paths[1], "-sigfile", paths[2]]
        return subprocess.run(words, capture_output=True).returncode == 0
def leads(key, seal):  # whether one key named the next, and so on to the one that signed
    for h in seal["handovers"]:
        if h["from"] == key and signed(h["from"], f"spyhole key v1\n{h['from']}\n{h['to']}\n{h['t']}\n", h["signature"]): key = h["to"]
    return key == seal["key"]
try:
    record = open("record.jsonl", "rb").read()
    seals = open("checkpoints.jsonl", "rb").read() if os.path.exists("checkpoints.jsonl") else b""
except OSError as error:
    print(f"{error.filename} cannot be read: run this in the folder of the unpacked export."); sys.exit(2)
lines, torn = record.split(b"\n")[:-1], record.split(b"\n")[-1]
prev, whole, at, kinds, photos, gone, texts = "0" * 64, hashlib.sha256(), {}, [], [], None, {}
for n, line in enumerate(lines, 1):
    try: entry = json.loads(line)
    except ValueError: bad(f"line {n} cannot be read")
    if entry.get("n") != n: bad(f"line {n} carries the number {entry.get('n')}")
    if entry.get("prev") != prev: bad(f"line {n - 1} or {n} was changed: the link between them is broken")
    prev = hashlib.sha256(line).hexdigest(); whole.update(line + b"\n"); at[n] = (whole.hexdigest(), prev); kinds.append(entry.get("type"))
    photo = (entry if entry.get("type") == "note" else entry.get("said") or {}).get("photo") if entry.get("type") in ("note", "act") else None
    if photo: photos.append((n, photo["sha256"], photo["media"]))
if not lines: end("INCOMPLETE", 3, "the record is empty")
close = kinds.index("close") + 1 if "close" in kinds else 0
for n in range(close + 1, len(lines) + 1) if close else []:
    if kinds[n - 1] not in AFTERWORDS: bad(f"line {n} was added after the firing had been closed")
origin, sealed, last = json.loads(lines[0]).get("firing"), 0, None
for number, line in enumerate(seals.split(b"\n")[:-1], 1):
    try:
        seal = json.loads(line); title, of, count, prefix, head, time, place = seal["text"].split("\n")[:7]; count = int(count)
        genuine = signed(seal["key"], seal["text"], seal["signature"])
    except (ValueError, KeyError): bad(f"seal {number} cannot be read")
    if not genuine: bad(f"seal {number} is not what its key signed")
    if origin and of != origin: bad(f"seal {number} belongs to another record, {of}")
    if int(place) != number or count < sealed: bad(f"seal {number} is missing or out of order")
    if last and seal["key"] != last["key"] and not leads(last["key"], seal): bad(f"from line {sealed + 1} on it is signed with another key")
    if count > len(lines): end("INCOMPLETE", 3, f"lines {len(lines) + 1} to {count} are missing, though they were signed for")
    if at.get(count) != (prefix, head): bad(f"among lines {sealed + 1} to {count} something is not what was signed")
    sealed, last, texts[str(number)] = count, seal, seal["text"]
for stamp in sorted(os.listdir("stamps")) if os.path.isdir("stamps") else []:
    if not stamp.endswith(".txt"): continue
    if stamp[:-4] not in texts: gone = gone or f"stamps/{stamp} is a seal that is missing, and with it the end of the record"; continue
    if open(os.path.join("stamps", stamp), "rb").read() != texts[stamp[:-4]].encode(): bad(f"stamps/{stamp} is not the seal of that number")
for n, digits, media in photos:
    path = os.path.join("photos", f"{digits}.{'png' if media == 'image/png' else 'jpg'}")
    try: content = open(path, "rb").read()
    except OSError: gone = gone or f"the photograph of line {n} is missing, {path}"; continue
    if hashlib.sha256(content).hexdigest() != digits: bad(f"the photograph of line {n} was changed, {path}")
if not last: end("INCOMPLETE", 3, "there are no seals: nobody has signed for it")
if known and name(last["key"]) != known and not any(name(h["from"]) == known and leads(h["from"], last) for h in last["handovers"]):
    bad("it is signed with a key that is not the one you know, and that yours did not name")
if torn: end("INCOMPLETE", 3, f"line {len(lines) + 1} is torn off")
if not close: end("INCOMPLETE", 3, f"the closing line is missing: the firing was still on, or its end was lost; lines 1 to {len(lines)} stand as they were written")
if sealed < len(lines): end("INCOMPLETE", 3, f"lines {sealed + 1} to {len(lines)} were written after the last seal")
if gone: end("INCOMPLETE", 3, gone)
if_known = "the key you know" if known else f"key {name(last['key'])}: if this is the key you know, nobody has changed it since"
end("OK", 0, f"{len(lines)} lines stand as they were written and signed, seal {prev}, with {if_known}")
`;

const SEAL_FILES = `checkpoints.jsonl   the seals: now and then the workshop's key signed for all lines so far
key.pem             the public key that signed last
last-seal.txt       what it signed last; last-seal.sig is the signature
`;

const sealSteps = (
  sealedLines: number,
): string => `Or step by step, with what each system has. Both of these print the hash of the lines that the last seal counts:

    $ head -n ${sealedLines} record.jsonl | sha256sum
    $ sed -n 4p last-seal.txt

This says whether the key signed it:

    $ openssl pkeyutl -verify -pubin -inkey key.pem -rawin -in last-seal.txt -sigfile last-seal.sig

And this prints the fingerprint of the key, its first 32 digits:

    $ openssl pkey -pubin -in key.pem -outform DER | sha256sum

It proves something to you only if you know the fingerprint from elsewhere: from an older report, a letter, or the page
Proof of the workshop. Then write it behind the first command, and it is compared as well.

`;

const NO_SEALS = `It was never signed, so it proves no more than that it fits itself; the checker calls it incomplete.

`;

const stampFiles = (
  seal: number,
): string => `stamps/             a time authority outside signed that it saw a seal, and when: ${seal}.txt is the seal, ${seal}.tsr its answer
`;

const stampSteps = (
  seal: number,
): string => `A time authority outside saw seal ${seal}, and signed when by its own clock (RFC 3161). This prints what it says:

    $ openssl ts -reply -in stamps/${seal}.tsr -text

To check it, get the authority's own root certificate from the authority, never from the workshop, and save it here as
authority.pem:

    $ openssl ts -verify -data stamps/${seal}.txt -in stamps/${seal}.tsr -CAfile authority.pem

That this is one of the seals in checkpoints.jsonl is what the checker looks at; its third line is the number of lines
that it counts.

`;

const PHOTO_STEP = `This prints the hash of each photograph beside its name, which begins with the same hash:

    $ sha256sum photos/*

`;

export interface ReadmeParts {
  readonly id: string;
  readonly kilnName: string;
  readonly scheduleName: string | null;
  readonly began: string;
  readonly zone: string;
  readonly lines: number;
  readonly head: string;
  readonly key: string | null;
  readonly software: string;
  readonly hasPhotos: boolean;
  /** Lines that the last seal counts. */
  readonly sealedLines: number;
  /** The last seal that a time authority has stamped; null for none. */
  readonly stampedSeal: number | null;
}

/** Commands to type begin with four spaces and a dollar sign; the tests type exactly these. */
export function readme(parts: ReadmeParts): string {
  const { id, kilnName, scheduleName, began, zone, lines, head, key, software, hasPhotos, sealedLines, stampedSeal } =
    parts;
  return `Record of a firing
==================

Firing     ${id}
Kiln       ${kilnName}
Schedule   ${scheduleName ?? 'none'}
Began      ${began}
Lines      ${lines}
Seal       ${head}
Key        ${key ?? 'none: it was not signed'}
Written by ${software}

What is here
------------
record.jsonl        the record, one line for each thing that happened; all else is made from it
${key === null ? '' : SEAL_FILES}${stampedSeal === null ? '' : stampFiles(stampedSeal)}readings.csv        the readings, for a spreadsheet; times are UTC
figures.csv         the figures of the firing; times of day are ${zone}
report.pdf          the same for people
kiln.json, schedule.json   the kiln and the plan as they stood at the beginning
${hasPhotos ? 'photos/             the photographs; each is named by its SHA-256, which its line in record.jsonl holds too\n' : ''}check_record.py     a short checker that needs Python 3 and openssl 3 only

Times in record.jsonl (t) are milliseconds since 1970, UTC; temperatures (mC, uC) are thousandths of a degree Celsius.
"raw" is what the instrument said; "v" is what was made of it.

How to check it
---------------
In the folder where you have unpacked this, the whole of it:

    $ python3 check_record.py

${key === null ? NO_SEALS : sealSteps(sealedLines)}${hasPhotos ? PHOTO_STEP : ''}${stampedSeal === null ? '' : stampSteps(stampedSeal)}What it does not say
--------------------
It says what the instrument told and what was done. It does not say that the glass is sound: nobody sees a crack from
outside. A couple shows its own tip, one to three minutes late in a sheath, and not the glass.
`;
}
