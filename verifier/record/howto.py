"""The text that lets a stranger check a bundle with common tools, without this program."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from verifier.record.part import Part
from verifier.record.people import principal_of
from verifier.record.records import Record

_INTRODUCTION = """\
HOW TO CHECK THIS BUNDLE
========================

{holds}
You need nothing from those who made it. The commands below use only a shell, sha256sum, openssl (3.0 or later), ssh-keygen
(8.2 or later) and pdfsig. Unpack the bundle, open a terminal in the folder that holds this file, and copy each indented block.
A block that ends in "sound" or in a line of numbers has passed; any other line names what is wrong. A block that begins with
"cat" alone only shows you a text to read.

What these checks can NOT show: that a scene was not staged, that nobody was forced, that no photo was left out before it came
into the record, and - unless you hold a head from outside, see step 5 - that the whole history was not written anew by
somebody who had all the keys.

What is what: data/originals/ is evidence, byte for byte as received, each file named by its own SHA-256. data/results/ is what
a program read from it. data/derived/, where there is one, holds pictures drawn by a program, for reading and not evidence.
data/timeline.txt tells everything in order, and between which times each photo was taken.
"""

_WHOLE = """\
This folder holds the record of one concrete pour: original photos and readings, and a ledger that says who did what, when."""

_SOME = """\
This folder holds a PART of the record of one concrete pour: {says}.
It shows {shown} of {size} records, with the originals that they rest on, and the keys, versions, boards, time stamps and releases
that every part shows. The other records exist, this folder says nothing about them, and the whole record may tell more:
ask for it where that matters. What is shown stands under the very head of the whole record, see step 4.{withheld}"""

_WITHHELD = """
Held back are originals that the records shown name and that belong to something else: {count}, listed by their SHA-256 in
data/withheld.txt."""

_BYTES = """
1. Are the bytes those that were sealed?
----------------------------------------
The first command checks the lists, the second every file in data/. No output before the word "sound" means that all agree.

    sha256sum -c --quiet tagmanifest-sha256.txt && sha256sum -c --quiet manifest-sha256.txt && echo sound

2. Was a file added?
--------------------
sha256sum does not see a file that no list names, so look for such files, hidden ones and links too.

    nl=$(printf '\\nx'); nl=${{nl%x}}; list="$nl$(cat manifest-sha256.txt tagmanifest-sha256.txt)$nl"; found=0; bad=0
    walk() {{ for f in "$1"/* "$1"/.[!.]* "$1"/..?*; do
      if [ -h "$f" ]; then echo "ADDED, A LINK: $f"; bad=1; elif [ -d "$f" ]; then walk "$f"; elif [ -e "$f" ]; then
        found=$((found + 1)); case "$list" in *"  ${{f#./}}$nl"*) continue ;; esac
        case "$f" in ./tagmanifest-sha256.txt|./tagmanifest-sha512.txt|./seal.sig) ;; *) echo "ADDED: $f"; bad=1 ;; esac
      fi; done; }}; walk .
    [ $bad = 0 ] && echo "sound: $found files" || echo "FILES WERE ADDED"

3. Who sealed it?
-----------------
The key named here signed the list of all lists, and the head of the ledger.

    openssl pkeyutl -verify -pubin -inkey data/keys/{sealer}.pem -rawin -in tagmanifest-sha256.txt -sigfile seal.sig &&
    openssl pkeyutl -verify -pubin -inkey data/keys/{sealer}.pem -rawin -in data/checkpoint.body \\
      -sigfile data/checkpoint.sig &&
    body=$(cat data/checkpoint.body) && note=$(cat data/checkpoint.txt) &&
    case "$note" in "$body"*) echo sound ;; *) echo "THE TWO HEADS DIFFER" ;; esac

data/keys/people.txt says whose key is whose. Every key is named by the SHA-256 of itself; this prints the name once more:

    openssl pkey -pubin -in data/keys/{sealer}.pem -outform DER | sha256sum

Compare the names of the keys with the people themselves: a key in a bundle proves a key, not a person.
"""

_KEYS = """
This holds every key against the name of its file, and everybody who was enrolled against the lists of people and of signers
that later steps use. It prints each name with its key; those are the ones to compare with the people.

    bad=0; people=$(cat data/keys/people.txt); exec 3< data/keys/allowed_signers
    for f in data/keys/*.pem; do
      id=$(openssl pkey -pubin -in "$f" -outform DER | sha256sum)
      [ "$f" = "data/keys/${id%% *}.pem" ] || { echo "$f HOLDS ANOTHER KEY"; bad=1; }
    done
    while IFS= read -r line; do
      case "$line" in *'"type":"key.enrol","v":1}') ;; *) continue ;; esac
      key=${line#*\\"public_key\\":\\"}; key=${key%%\\"*}; name=${line#*\\"person\\":\\"}; name=${name%%\\"*}
      id=$({ printf '\\060\\052\\060\\005\\006\\003\\053\\145\\160\\003\\041\\000'; printf '%s' "$key" | openssl base64 -d -A; } | sha256sum)
      id=${id%% *}; blob=$({ printf '\\000\\000\\000\\013ssh-ed25519\\000\\000\\000\\040'; printf '%s' "$key" | openssl base64 -d -A; } |
        openssl base64 -A)
      read -r who rest <&3; fits=yes
      case "$rest" in *" ssh-ed25519 $blob") ;; *) fits=no ;; esac
      case "$people" in *"$id  $name (person"*) ;; *) fits=no ;; esac
      case "$name" in *[!A-Za-z0-9._~-]*) ;; "$who") ;; *) fits=no ;; esac
      [ -e "data/keys/$id.pem" ] && [ $fits = yes ] || { echo "$name IS LISTED WITH ANOTHER KEY"; bad=1; }
      echo "$name: $id"
    done < data/ledger.jsonl
    read -r who rest <&3 && { echo "$who WAS NEVER ENROLLED"; bad=1; }
    exec 3<&-; [ $bad = 0 ] && echo sound || echo "THE KEYS DO NOT HOLD"
"""

_CHAIN = """
4. Does every record follow from the one before it, signed by the key it names?
-------------------------------------------------------------------------------
Each line of data/ledger.jsonl is a record. It names the SHA-256 of the line before it ("prev"), and its signature covers the
line without the "sig" entry. This walks all of them (some 100 a second).

    t=${TMPDIR:-/tmp}/record-$$; n=0; bad=0; previous=0000000000000000000000000000000000000000000000000000000000000000
    while IFS= read -r line || [ -n "$line" ]; do
      n=$((n + 1)); sum=$(printf '%s' "$line" | sha256sum); sum=${sum%% *}
      prev=${line##*,\\"prev\\":\\"}; prev=${prev%%\\"*}
      by=${line##*,\\"by\\":\\"}; by=${by%%\\"*}
      start=${line%,\\"sig\\":\\"*}; sig=${line##*,\\"sig\\":\\"}; rest=${sig#*\\"}; sig=${sig%%\\"*}
      printf '%s%s' "$start" "$rest" > "$t.txt"; printf '%s' "$sig" | openssl base64 -d -A > "$t.sig"
      [ "$prev" = "$previous" ] || { echo "record $n DOES NOT FOLLOW"; bad=1; }
      openssl pkeyutl -verify -pubin -inkey "data/keys/$by.pem" -rawin -in "$t.txt" -sigfile "$t.sig" > "$t.out" 2>&1 ||
        { echo "record $n IS NOT SIGNED"; bad=1; }
      previous=$sum
    done < data/ledger.jsonl
    while read -r word value; do [ "$word" = chain ] && { [ "$value" = "$previous" ] || bad=1; }; done < data/checkpoint.body
    [ $bad = 0 ] && echo "sound: $n records" || echo "THE LEDGER DOES NOT HOLD"
"""

_PART = """
4. Do the records shown belong to the whole record?
---------------------------------------------------
This bundle shows a part of a record. Each line of data/ledger.jsonl is a record; its signature covers the line without the
"sig" entry, and a proof in data/proofs/ leads from the line to the root in data/checkpoint.txt (RFC 9162, section 2.1.3.2).
What the records left out say can't be judged from this bundle.

    t=${TMPDIR:-/tmp}/record-$$; n=0; bad=0
    { read -r origin; read -r size; read -r root; } < data/checkpoint.body
    node() { { printf '\\001'; printf '%s' "$1" | openssl base64 -d -A; printf '%s' "$2" | openssl base64 -d -A; } |
      openssl dgst -sha256 -binary | openssl base64 -A; }
    while IFS= read -r line || [ -n "$line" ]; do
      n=$((n + 1)); by=${line##*,\\"by\\":\\"}; by=${by%%\\"*}; seq=${line##*,\\"seq\\":}; seq=${seq%%,*}
      start=${line%,\\"sig\\":\\"*}; sig=${line##*,\\"sig\\":\\"}; rest=${sig#*\\"}; sig=${sig%%\\"*}
      printf '%s%s' "$start" "$rest" > "$t.txt"; printf '%s' "$sig" | openssl base64 -d -A > "$t.sig"
      openssl pkeyutl -verify -pubin -inkey "data/keys/$by.pem" -rawin -in "$t.txt" -sigfile "$t.sig" > "$t.out" 2>&1 ||
        { echo "record $seq IS NOT SIGNED"; bad=1; }
      r=$({ printf '\\000'; printf '%s' "$line"; } | openssl dgst -sha256 -binary | openssl base64 -A)
      place=$((seq - 1)); last=$((size - 1)); row=0
      while read -r h; do
        row=$((row + 1)); [ $row -le 2 ] && continue; [ -z "$h" ] && break
        if [ $((place % 2)) = 1 ] || [ $place = $last ]; then
          r=$(node "$h" "$r"); while [ $((place % 2)) = 0 ] && [ $place != 0 ]; do place=$((place / 2)); last=$((last / 2)); done
        else r=$(node "$r" "$h"); fi
        place=$((place / 2)); last=$((last / 2))
      done < "data/proofs/$seq.tlog-proof"
      [ "$r" = "$root" ] && [ $last = 0 ] || { echo "record $seq IS NOT UNDER THE HEAD"; bad=1; }
    done < data/ledger.jsonl
    [ $bad = 0 ] && echo "sound: $n of $size records shown" || echo "THE RECORDS DO NOT HOLD"
"""

_HELD = """
5. Is it the history that others saw?
-------------------------------------
data/checkpoint.txt is the head of this record. Somebody outside holds this or an earlier head: the print in the site office,
the reviewer's file, a time stamp. Compare size and root. An earlier head is compared with the help of python3:

    cat data/checkpoint.body

6. With python3 and its package "cryptography", everything at once
------------------------------------------------------------------
The program in data/check/ is the one named after "cd"; read it first, it is short. It also takes heads
held outside, as files. (-B keeps python3 from writing files of its own into this folder.) A file beside the folder "audit" could
stand in for one of python3's own parts: run it only if this says "sound".

    there=$(echo data/check/* data/check/.[!.]*); [ "$there" = "data/check/audit data/check/.[!.]*" ] && echo sound || echo "NOT ALONE: $there"

  (command)  cd data/check && python3 -B -m audit ../..
"""

_APPROVAL = """
{step}. Who released the pour, on what? (record {seq})
------------------------------------------------------
data/approvals/{seq}.txt is what was signed.{how}

    cat data/approvals/{seq}.txt
"""

_SEAL = """
{step}. Who sealed the record in person? (record {seq})
-----------------------------------------------------
A device signed this bundle (step 3); a person sealed the record as it stood, too. data/approvals/{seq}.txt is what that person
signed on an own machine, with a key that no server ever saw. The second command checks it. It says "Good" and then "sound";
if it asks for a name that data/keys/allowed_signers does not hold, the seal is not that person's. Compare in the text the root
and the number of records with data/checkpoint.txt or with a head of yours.

    cat data/approvals/{seq}.txt
"""

_OWN_MACHINE = """    ssh-keygen -Y verify -f data/keys/allowed_signers -I {person} -n {purpose} \
-s data/approvals/{seq}.sig < data/approvals/{seq}.txt && echo sound
"""

_TOKEN = """
{step}. When did the records exist at the latest? (time stamp, {name})
----------------------------------------------------------------------
An authority signed the time at which it saw this head. Compare the root certificate with the one the authority publishes.

    openssl ts -verify -data {data} -in {response} -CAfile {chain} && echo sound
"""

_PDF = """
{step}. Is the release document unchanged? ({name})
---------------------------------------------------
Look for "Signature is Valid" AND "Total document signed": a document with something appended still says the first.

    said=$(pdfsig {name} 2>&1)
    case "$said" in *"Total document signed"*"Signature is Valid"*) echo sound ;;
      *) echo "$said"; echo "THE DOCUMENT DOES NOT HOLD" ;; esac
"""


def how_to_check(
    records: Sequence[Record], payload: Iterable[str], sealer: str, *, part: Part | None, size: int
) -> str:
    """Write HOW-TO-CHECK for a bundle.

    Args:
        records: The records it shows.
        payload: Names of the files in ``data/``.
        sealer: Id of the key that seals it.
        part: What part it shows, None for the whole record.
        size: Number of records under its head.

    Returns:
        Plain text; each command stands in a block indented by four blanks.
    """
    names = sorted(payload)
    text = _INTRODUCTION.format(holds=_WHOLE if part is None else _some(part, len(records), size))
    text += _BYTES.format(sealer=sealer) + _KEYS + (_CHAIN if part is None else _PART) + _HELD
    step = 7
    for record in records:
        if record.type == "release" or (record.type == "seal" and "statement" in record.body):
            text += _approval(record, step)
            step += 1
        elif record.type == "token":
            response, chain = (str(record.body[key]) for key in ("response_sha256", "chain_sha256"))
            text += _TOKEN.format(
                step=step,
                name=f"record {record.seq}",
                data=f"data/tokens/{record.seq}.checkpoint",
                response=next(name for name in names if response in name),
                chain=next(name for name in names if chain in name),
            )
            step += 1
    if "data/tokens/head.tsr" in names:
        text += _TOKEN.format(
            step=step,
            name="over the head of this bundle",
            data="data/checkpoint.txt",
            response="data/tokens/head.tsr",
            chain="data/tokens/head-chain.pem",
        )
        step += 1
    for name in names:
        if name.startswith("data/release-"):
            text += _PDF.format(step=step, name=name)
            step += 1
    return text


def process_statement(pour: str, version: str) -> str:
    """Write the description of the process that a qualified person may certify, the name left blank.

    Args:
        pour: Pour id.
        version: Version of this program.

    Returns:
        Plain text.

    Source:
        US Federal Rules of Evidence, 902(13) and 902(14) (2017): identification of a copy by a process of digital
        identification, shown by the certification of a qualified person. Other places ask for other forms.
    """
    return (
        f"DESCRIPTION OF THE PROCESS (pour {' '.join(pour.split())})\n\n"
        "Each file was read as received and its SHA-256 computed before any program interpreted it. The file was stored\n"
        "unchanged under that hash. Each event was written as one record in the canonical form of RFC 8785, signed with\n"
        "Ed25519 (RFC 8032), and linked by SHA-256 to the record before it; all records together are bound by a Merkle\n"
        "tree (RFC 9162). The list of files and their SHA-256 and SHA-512 stands in manifest-sha256.txt and\n"
        f"manifest-sha512.txt (RFC 8493). Program: verifier {version}.\n\n"
        "I have checked the files against these lists, by the steps in HOW-TO-CHECK.txt, and found:\n\n\n"
        "name, position, date, signature: ______________________________________________\n\n"
        "This text is a convenience. Whether and how it may be used is for the law of the place to say.\n"
    )


def _some(part: Part, shown: int, size: int) -> str:
    held = _WITHHELD.format(count=len(part.withheld)) if part.withheld else ""
    return _SOME.format(says=part.says, shown=shown, size=size, withheld=held)


def _approval(record: Record, step: int) -> str:
    own_machine = "statement_signature" in record.body
    how = (
        " It was signed on the person's own machine:"
        if own_machine
        else f" The signature is that of record {record.seq}."
    )
    if record.type == "seal":
        text, purpose = _SEAL.format(step=step, seq=record.seq), "pour-seal"
    else:
        text, purpose = _APPROVAL.format(step=step, seq=record.seq, how=how), "pour-release"
    if own_machine:
        person = principal_of(str(record.body["person"]))
        text += _OWN_MACHINE.format(person=person, seq=record.seq, purpose=purpose)
    return text
