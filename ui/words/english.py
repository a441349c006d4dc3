"""Every sentence that the page itself says, in English. Names, remarks and file texts come from elsewhere."""

from __future__ import annotations

from typing import Final

TITLE: Final = "Before the pour"
LANGUAGE: Final = "Language"
LANGUAGE_NAME: Final = "English"
NAV: Final = {
    "pours": "Pours",
    "missing": "To do",
    "rounds": "Rounds",
    "findings": "Findings",
    "photos": "Photos",
    "decision": "Decision",
    "concrete": "Concrete",
    "pour_log": "Pour log",
    "closing": "Closing",
    "timeline": "Record",
}
PLANNED: Final = "Planned start {when} · {code}"
PLANNED_PASSED: Final = (
    "As of {now}: the planned start has passed, and rounds, order and release of that day lapse by the clock."
)
ANSWER: Final = {"go": "Go", "go_with_conditions": "Go with conditions", "no_go": "No-go"}
ANSWER_SAYS: Final = {
    "go": "Nothing that this record holds stands against the pour.",
    "go_with_conditions": "Nothing stops the pour once its conditions are met; each must be met before concrete.",
    "no_go": "The pour may not start. Each reason says what would clear it.",
}
ANSWER_COUNTS: Final = "Reasons that stop it: {stops} · conditions: {conditions}"
VERDICT: Final = {
    "conforming": "conforming",
    "non_conforming": "non-conforming",
    "inconclusive": "not decided",
    "missing": "missing",
}
INDICATED: Final = "not decided (a photo only indicates a bar size)"
RULE: Final = {
    "single-gap": "Every single gap",
    "mean-spacing": "Mean spacing",
    "largest-spacing": "Largest spacing of the code",
    "clear-distance": "Spacing that keeps the clear distance",
    "least-steel": "Mean spacing that keeps the least steel",
    "diameter": "Bar diameter",
    "cover": "Cover",
    "lap": "Lap length",
    "bar-count": "Number of bars",
    "block-pitch": "Pitch of cover blocks",
    "chair-pitch": "Pitch of chairs",
    "edge-distance": "Distance to the edge",
}
LIMITS_BETWEEN: Final = "{low} to {high}"
LIMITS_MOST: Final = "at most {high}"
LIMITS_LEAST: Final = "at least {low}"
LIMITS_NONE: Final = "no limit"
MEASURAND: Final = {
    "mean_spacing": "Mean spacing over several gaps",
    "single_gap": "One gap, centre to centre",
    "cover": "Cover",
    "bar_diameter": "Bar diameter",
    "lap_length": "Lap length",
    "bar_count": "Number of bars",
}
ELEMENT: Final = "Element"
SPOT: Final = "Spot"
LAYER: Final = "Layer"
LAYER_UNNAMED: Final = "layer not named"
WHAT: Final = "What was measured"
WHO: Final = "Who are you?"
MEASURED: Final = "Measured"
WORST_OF: Final = "Worst of {count}"
OF: Final = "{there} of {asked}"
SPOT_STATE: Final = {
    "conforming": "there, conforming",
    "non_conforming": "does not conform",
    "inconclusive": "there, not decided",
    "missing": "still to be taken",
}
JUMP: Final = (("#send-photos", "Send photos"), ("#type-readings", "Type readings"))
LIMIT: Final = "limit"

NO_FOLDER_TITLE: Final = "Which pour?"
NO_FOLDER: Final = (
    "Start the page with a pour folder: verifier page FOLDER. A new one is made by: verifier new FOLDER"
)
CANT_READ: Final = "This can't be shown yet"
BROKE: Final = "Something in this page broke"
BROKE_SAYS: Final = (
    "Nothing was lost: what you sent is in the record, what you typed is kept. Load the page again."
)
WORKING: Final = "Measuring photos and comparing. A new photo takes about a second."

SEND_TITLE: Final = "Send photos"
SEND_CHOOSE: Final = "Photos with the scale board on the bars"
SEND_BY_NAME: Final = "by file name"
SPOT_CHOOSE: Final = "Choose or type"
SEND_PHOTOS: Final = "Send photos"
SENDING: Final = "Keeping the originals"
SENT_OF: Final = "Measured {done} of {total}"
NOT_TAKEN: Final = "not taken; the other photos went on"
PHOTO_COUNTS: Final = "counts for {element}, spot {spot}"
PHOTO_VERDICT: Final = {
    "conforming": "what was measured conforms",
    "non_conforming": "something does not conform",
    "inconclusive": "something is not decided",
    "missing": "nothing is judged by it",
}
PHOTO_STATE: Final = {
    "counted": "measured, counts",
    "superseded": "replaced by a newer photo",
    "refused": "could not be measured: take it again",
    "unplaced": "measured, without a place",
    "not counted": "kept, counts for no spot",
    "damaged": "no longer as recorded",
}
MEAN_OF: Final = "mean spacing {value} (gaps: {gaps})"
PLACE: Final = "Place this photo"
PLACE_SAID: Final = "Place"
BASIS: Final = {
    "said": "as said by a person",
    "file name": "as its file name says",
    "board": "as the board in it tells",
    "none": "not said",
}

TYPE_TITLE: Final = "Type tape readings"
TYPE_ADD: Final = "Add this reading"
TYPE_FAULT: Final = "Not added"
TYPE_ASKED: Final = "Not added yet: please look again"
TYPE_CONFIRM: Final = "It is right as read"
TYPE_CORRECT: Final = "Let me correct it"
KEYPAD: Final = {"back": "Delete the last figure", "point": "Decimal point", "sign": "Plus or minus"}
GAPS: Final = "Gaps spanned"
GAP_NUMBER: Final = "Number of the gap"
INSTRUMENT: Final = "Instrument"
READING: Final = "Reading, mm"
READING_AGAIN: Final = "Second reading, mm"
BARS: Final = "Bars counted"
OVER_GAPS: Final = "(gaps: {count})"
UNSENT: Final = "Typed, not yet sent: {count}"
UNDO: Final = "Undo the last one"
SEND_READINGS: Final = "Send readings"

COVERAGE_WHAT: Final = {"spacing": "{layer} spacing", "cover": "{layer} cover"}
INDICATIONS: Final = "Bar sizes that photos indicate and a caliper or the rolled mark must decide: {count}."
MISSING_NOTHING: Final = "Every spot that is asked for is there."
MISSING_AGAIN: Final = "Photos to take again"
MISSING_UNPLACED: Final = "Photos without a place"
MISSING_UNPLACED_SAYS: Final = (
    "These were measured but count for nothing until somebody says where they were taken."
)
MISSING_QUESTIONS: Final = "Readings to look at again"
OBSERVED: Final = "What the photo files say about themselves"
OBSERVED_SAYS: Final = "Observations, not verdicts: a person decides what they mean."

ROUNDS_NONE: Final = "This pour walks no inspection round"
ROUND: Final = "Round"
ROUND_NUMBER: Final = "Round {number}"
ROUND_WALKED_BY: Final = "Walked by: {roles}"
ROUND_PROGRESS: Final = "Items that stand: {there} of {total} · defects: {defects}"
ROUND_PARTS: Final = "Part of the work"
ROUND_PART: Final = "{part} ({count})"
ROUND_DEFECTS: Final = "Defects ({count})"
ROUND_GROUP: Final = {
    "formwork": "Formwork",
    "reinforcement": "Reinforcement",
    "embedded services and openings": "Services, openings",
    "general": "General",
    "readiness": "Readiness",
}
ROUND_PART_EMPTY: Final = "Nothing here."
ROUND_ITEM: Final = "Item"
ROUND_BACK: Final = "Item before"
ROUND_ON: Final = "Next item"
ROUND_ALL: Final = "All items of this part ({count})"
ROUND_STANDS: Final = {
    "stands": "stands",
    "not looked at": "not looked at",
    "defect": "defect",
    "waits": "open",
}
ROUND_LIMIT: Final = "Asked"
ROUND_POINT: Final = {
    "hold": "Hold point, released in writing by",
    "witness": "Witness point, closed by",
    "none": "Closed by",
}
ROUND_WHY: Final = "Why, and how to look"
ROUND_WHY_SAYS: Final = "Why"
ROUND_HOW: Final = "How"
ROUND_CLOSES: Final = "Who closes it"
ROUND_DISAGREEMENT: Final = "Sources disagree"
ROUND_BY: Final = "For: {roles}"
ROUND_NOT_BY: Final = "Not by: {names}"
ROUND_SAID: Final = "Said before ({count})"
ROUND_WITH: Final = "files: {count}"
ROUND_WORD: Final = {
    "not looked at": "not looked at",
    "conforming": "conforms",
    "not conforming": "does not conform",
    "cannot tell": "can't be told",
    "does not apply": "does not apply",
    "put right": "put right",
    "decided by engineer": "decided by the engineer",
}
ROUND_SAY: Final = {
    "conforming": "Yes, conforms",
    "not conforming": "No",
    "cannot tell": "Can't tell",
    "does not apply": "Does not apply",
    "put right": "It was put right",
}
ROUND_PLACE: Final = "Place"
ROUND_WHOLE: Final = "whole pour"
ROUND_VALUE: Final = "Measured, {unit}"
ROUND_PLANNED: Final = "On the drawing, {unit}"
ROUND_ON_DRAWING: Final = "on the drawing {value}"
ROUND_TAKE: Final = "Keep this value"
ROUND_LOW: Final = "Least allowed, {unit}"
ROUND_HIGH: Final = "Largest allowed, {unit}"
ROUND_LIMIT_SOURCE: Final = "Where this limit comes from"
ROUND_PHOTO: Final = "Photo of the place"
ROUND_DOCUMENT: Final = "Document"
ROUND_FILE_KEPT: Final = "kept; goes into the record with the answer"
ROUND_FILES_DROP: Final = "Take these files back"
ROUND_REMARK: Final = "Remark, or the reason"
ROUND_NEEDS_PHOTO: Final = "a new photo of the place is asked for after a repair"
ROUND_NOT_YET: Final = "Not recorded yet"
ROUND_RECORDED: Final = "In the record"
ROUND_STILL: Final = "Still open: {why} (for: {roles})"
HOLDS: Final = "Hold points not released"
HOLD_BY: Final = "for the {role}: {why}"
HOLD_RELEASE: Final = "Release this hold point"
WITNESSES: Final = "Witness points ({count})"
WITNESS_SAYS: Final = {
    "not told": "nobody told",
    "told too late": "told too late",
    "told, time to come": "told, time to come",
    "attendance not written": "did they come?",
    "attended": "attended",
    "invited, did not attend": "invited, did not attend",
}
WITNESS_WHO: Final = "Who was told"
WITNESS_DAY: Final = "For which day"
WITNESS_TIME: Final = "At which time"
WITNESS_KEEP: Final = "They were told"
WITNESS_CAME: Final = "They came"
WITNESS_ABSENT: Final = "They did not come"
SIGN_ROUND: Final = "Sign this round"
SIGNED_BY: Final = "Signed by {person}"
ROUND_SIGN_SAYS: Final = "The signature says: {says}"
ROUND_SIGN_OPEN: Final = "Items still open: {count}"
HAPPENED: Final = "Something has happened to the work"
HAPPENED_WHAT: Final = "What"
HAPPENED_TRADE: Final = "Trade that was on the deck"
HAPPENED_KEEP: Final = "Put it into the record"
HAPPENED_OPENED: Final = "Opened again by it: {count}"
HAPPENING: Final = {
    "neighbours_moved": "neighbouring work was moved",
    "late_start": "the start is late",
    "very_late_start": "the start is very late",
    "rain": "rain",
    "wind": "wind",
    "heat": "heat",
    "frost": "frost",
    "other_trade": "another trade was on the deck",
    "new_revision": "a new revision of the drawing",
    "prop_moved": "a prop was moved",
    "impact": "something hit the formwork",
    "other_supply": "concrete from elsewhere",
    "pour_stopped": "the pour was stopped",
}

FINDINGS_ALL: Final = "all"
FINDINGS_SHOW: Final = "Show"
FINDINGS_FILTER: Final = {
    "open": "to settle",
    "non_conforming": "non-conforming",
    "indicated": "sizes indicated",
    "unmeasured": "not measured",
    "conforming": "conforming",
    "all": "all",
}
FINDINGS_MORE: Final = "Show more ({count})"
FINDINGS_TAPE: Final = "Tape beside photo"
FINDINGS_ASIDE: Final = "Seen too bluntly to be judged"
BLOCKED: Final = "Can't stand"
CHAIN_FILE: Final = "Original"
CHAIN_PIXELS: Final = "Pixels of the worst value"
CHAIN_ROW: Final = "Row"
CHAIN_METHOD: Final = "Method"
SEE_PHOTO: Final = "See it on the photo"
FINDINGS_NONE: Final = "There is nothing to show here."
FINDINGS_OPEN: Final = "Open this finding"
FINDINGS_DRAWN: Final = "Drawing value"
FINDINGS_BACK: Final = "Finding before (Alt and left arrow)"
FINDINGS_ON: Final = "Next finding (Alt and right arrow)"
FINDINGS_TO_ALL: Final = "All findings"
FINDINGS_CHOICE: Final = "Which findings, and in which order"
FINDINGS_ORDER: Final = "Order"
FINDINGS_ORDERS: Final = {"worst": "worst first", "place": "by place"}
FINDINGS_NO_PHOTO: Final = "No photo bears on this finding"
FINDINGS_NO_PHOTO_SAYS: Final = "It is decided by readings, or nothing was measured yet."
GAP_POINT: Final = "Point at one value on the photo"
GAP_NONE: Final = "none"
MEASURE_THERE: Final = "Measure in it"
TAPE_BESIDE: Final = "tape {tape}, photo {photo}: E_n = {e_n}, {agrees}"
TAPE_AGREES: Final = "they agree"
TAPE_CONTRADICTS: Final = "they contradict each other, nothing may rest on either"
FINDINGS_ASKED: Final = "Asked"
FINDINGS_SOURCE: Final = "Where the limit comes from"
FINDINGS_NEXT: Final = "Next step"
FINDINGS_CHAIN: Final = "Back to the pixels"
FINDINGS_CONSEQUENCE: Final = (
    "What a deviation does (information for the engineer of record, never an acceptance)"
)
FINDINGS_UNMEASURED: Final = "Nothing measured yet."
PROBABILITY_BETWEEN: Final = "{low} to {high}"
PROBABILITY_UNDER: Final = "under 0.1 %"
PROBABILITY_OVER: Final = "over 99.9 %"
PROBABILITY: Final = "probability of conforming"

PHOTOS_NONE_TITLE: Final = "No photo yet"
PHOTOS_NONE: Final = "Send some from the view with what is to do."
PHOTOS_BACK: Final = "Photo before (Alt and left arrow)"
PHOTOS_ON: Final = "Next photo (Alt and right arrow)"
PHOTOS_WAY: Final = "How to look at it"
PHOTOS_WAYS: Final = {
    "measured": "what was measured",
    "taken": "as taken",
    "above": "from above, grid of 100 mm",
    "points": "measure in it",
    "remarks": "say something to it",
}
PHOTOS_NO_PICTURE: Final = "There is no such picture of this photo"
PHOTOS_FINDINGS: Final = "Findings that rest on it"
BOARD: Final = "Scale board"
BOARD_SAYS: Final = "number {number}, tilt {tilt:.0f}°, {size:.2f} mm per pixel"
TAKEN: Final = "Taken, as the file says"
RECEIVED: Final = "Received"
POINTS_HOW: Final = "Touch the photo at two points. Drag a point to move it under a magnifying glass, or move it with the arrow keys."
POINTS_PLANE: Final = "Where the points lie"
POINTS_PLANES: Final = {"upper": "Upper bars", "lower": "Lower bars", "board": "Face of the board"}
POINTS_NONE: Final = "Two points give a distance."
POINTS_WORKING: Final = "Measuring"
POINTS_REFUSED: Final = "No distance here"
POINTS_SAYS: Final = "Distance on the chosen plane, with its 95 % interval."
POINTS_WORDS: Final = {
    "smaller": "Smaller",
    "larger": "Larger",
    "clear": "Clear points",
    "point": "Point",
    "keys": "Photo. Press Enter to set a point in the middle, then move it with the arrow keys.",
}
PHOTOS_PICK: Final = "Photo"
PHOTOS_SUPERSEDED: Final = "A newer photo of this spot has taken its place; its values stay in the record."
PHOTOS_FINGERPRINT: Final = "SHA-256 of the file as received"

REVIEW_SAY: Final = "Say something to it"
REVIEW_TITLE: Final = "Said in the review"
REMARK_HOW: Final = "Touch the photo where you mean it. Without a point your words are about the whole photo."
REVIEW_WHAT: Final = {
    "remark": "a remark",
    "return": "send it back",
    "spot": "ask for a further spot",
}
REVIEW_ACT: Final = {"remark": "Remark", "return": "Send back", "spot": "Ask for it"}
REVIEW_TEXT: Final = "Your words"
REVIEW_SPOT: Final = "Name of the further spot"
REVIEW_PASSPHRASE_SAYS: Final = "It opens your key for this one signature and is kept nowhere."
REVIEW_NEEDS_WORDS: Final = "Write what you mean first."
REVIEW_NEEDS_SPOT: Final = "Name the spot first."
REVIEW_NEEDS_ELEMENT: Final = "This photo has no place yet: a further spot needs its element."
REVIEW_NEEDS_RECORD: Final = "This photo is not in the record yet; add it there first."
REVIEW_DONE: Final = "It is in the record."
REVIEW_REFUSED: Final = "Not recorded"
REVIEW_NO_KEY: Final = "There is no key of {person} on this machine. The view with the decision makes one."
REVIEW_NOBODY: Final = "Nobody of this pour may do this."
REVIEW_KIND: Final = {
    "remark": "remark",
    "return": "sent back",
    "lifted": "lifted",
    "spot.ask": "asked for a further spot",
    "spot.waive": "waived a spot",
    "measurement.own": "measured personally",
}
REVIEW_OWN_KEY: Final = "own key"
REVIEW_CLAIMED: Final = "claimed, signed by a device"
REVIEW_ANSWER: Final = "Answer"
REVIEW_LIFT: Final = "Lift it"
REVIEW_RECORD: Final = "record {seq}"
OWN_WHAT: Final = "What you measured"
OWN_KEEP: Final = "Put it into the record as mine"
OWN_NEEDS_WORDS: Final = "Say first what this distance is."

DECISION_REASONS: Final = "What stops the pour, worst first"
DECISION_CONDITIONS: Final = "Conditions to be met before concrete"
DECISION_CAUTIONS: Final = "Cautions"
DECISION_CLEARS: Final = "Clears it"
DECISION_OWNER: Final = "Who"
DECISION_STANDS: Final = "What this answer stands on"
DECISION_AT: Final = "Checked at"
DECISION_DRAWING: Final = "SHA-256 of pour.toml"
DECISION_EOR: Final = "Engineer of record"
DECISION_EOR_NONE: Final = "not named"
DECISION_UNTIL: Final = "This answer lapses at"
DECISION_LAPSES: Final = "It lapses earlier when"
STANDING_CAUTION: Final = (
    "Cover is taped or gauged, never read from a photo. What no photo shows - grade of steel, far faces, hidden bars - "
    "must be seen by a person."
)

TIMELINE_NONE: Final = "There is no record yet"
TIMELINE_NONE_SAYS: Final = "It begins with the first photo or reading that is sent."
TIMELINE_SAYS: Final = (
    "Everything that the record holds, in the order it came in. Times are those of the signing device's clock; "
    "beside each name stands how it is known."
)
TIMELINE_NOTHING: Final = "Nothing fits this choice"
TIMELINE_ONLY: Final = "Kind"
RECORD_PART: Final = "Part of the record"
RECORD_PARTS: Final = {
    "originals": "Originals in time",
    "story": "What happened",
    "proven": "What is proven",
    "changed": "What changed",
    "take": "Take away",
}
RECORD_SIZE: Final = "Records"
RECORD_HEAD: Final = "Head, short form"
RECORD_BOUNDED: Final = "Photos bounded in time from both sides"
RECORD_PERSON: Final = "Person"
BARS_SAYS: Final = (
    "The bar is what the record proves: a photo is no older than an issued board that it shows, and no younger than its "
    "record. What a file claims of its own time is a sign on the bar; anybody can write that into a file."
)
BARS_KEY: Final = {
    "stamp": "time stamp of an authority",
    "unvouched": "time stamp of an authority that nobody vouched for here",
    "clock": "a device's clock",
    "none": "nothing bounds this side",
    "camera": "the camera's clock claims",
    "GPS": "GPS claims",
    "doubted": "a claim that something speaks against",
}
BARS_MORE: Final = "Further photos, not drawn here: {count}. Choose an element to see them."
BRACKET_FROM: Final = "Not before"
BRACKET_TO: Final = "Not after"
BRACKET_NONE: Final = "not bounded"
BOUND_FROM: Final = {
    "none": "no board issued from this record is seen in it",
    "stamp": "the board in it was made after this time stamp",
    "unvouched": "the board in it was made after this time stamp, of an authority that nobody vouched for here",
    "clock": "the board in it was made after this, by a device's clock",
}
BOUND_TO: Final = {
    "none": "nothing",
    "stamp": "time stamp over its record",
    "unvouched": "time stamp over its record, of an authority that nobody vouched for here",
    "clock": "receipt, by a device's clock",
}
CLAIM: Final = {
    "camera clock": "Camera's clock",
    "GPS time": "GPS time",
    "GPS position": "GPS position",
    "camera": "Camera",
}
CLAIM_FITS: Final = {
    "fits": "claimed; nothing speaks against it",
    "doubtful": "claimed; doubtful",
    "contradicts": "claimed; contradicts the bracket",
    "not checked": "claimed; can't be checked",
}
ORIGINAL_PLACE: Final = "Place"
ORIGINAL_PLACE_NONE: Final = "not said"
ORIGINAL_RECORD: Final = "Record"
ORIGINAL_FROM: Final = "{seq}, sent by {person}"
ORIGINAL_REMARKS: Final = "Seen on the file"
ORIGINAL_GONE: Final = "Its bytes are not here any more, were changed, or are no picture."
ORIGINAL_TAKE: Final = "Take this photo away"
ORIGINALS_NONE: Final = "No photo fits this choice"
ORIGINALS_NONE_SAYS: Final = "Choose another element or person."
TAKE_ORIGINAL: Final = "Original as received"
TAKE_PROOF: Final = "Proof of its record"
TAKE_PHOTO: Final = "Bundle of this photo alone"
TAKE_WHOLE_TITLE: Final = "The whole record"
TAKE_WHOLE_SAYS: Final = (
    "The sealed bundle holds all originals, the ledger, keys, proofs and a text of commands with which anybody can check it "
    "without this program. Keep its head somewhere else."
)
TAKE_STORY: Final = "The story as a PDF"
TAKE_STORY_SAYS: Final = (
    "For reading offline: every photo with its bracket, what happened, what is proven and what is not."
)
TAKE_PART_TITLE: Final = "A part, under the same head"
TAKE_PART_SAYS: Final = (
    "For somebody who may see one element or one photo only. The part says what it does not hold, and it still checks "
    "against the head of the whole. A file of readings is shown whole, also where it names other elements."
)
TAKE_ELEMENT: Final = "Bundle of this element"
TAKE_CHOOSE_ELEMENT: Final = "Which element"
TAKE_CHOOSE_PHOTO: Final = "Which photo"
TAKE_PROOF_TITLE: Final = "The proof of one record"
TAKE_PROOF_SAYS: Final = (
    "It leads from the record's line to the signed head and tells nothing of any record; who has the line and the head can "
    "check it (RFC 9162)."
)
TAKE_CHOOSE_RECORD: Final = "Number of the record"
TAKE_PROOF_ONE: Final = "Proof of this record"
PROVEN_SAYS: Final = (
    "Each question has an answer of its own; there is no total. The record was sealed and checked from its bytes just now, "
    "by the same code that lies in every bundle. Its sentences are in English, as they are there."
)
PROVEN_JOINS: Final = (
    "This device has not joined the record. Checking seals it, and for that the device joins: one more record, which the "
    "timeline shows."
)
PROVEN_START: Final = "Check everything now"
PROVEN_HELD: Final = "A head held outside, in its short form"
PROVEN_HELD_HELP: Final = (
    "As printed in the site office or kept by the reviewer, such as 41-ABCD-EFGH-IJKL-MNOP."
)
PROVEN_LIMITS: Final = "What no record can prove"
PROVEN_AGAIN: Final = (
    "Measuring the originals again takes longer and is done with the bundle: verifier audit BUNDLE --replay"
)
FACT_STATE: Final = {"holds": "holds", "does not hold": "does not hold", "not proven": "not proven"}
FACT_GROUPS: Final = {
    "bytes": "Are the bytes intact?",
    "signatures": "Are the signatures sound?",
    "persons": "Were the persons authorised?",
    "order": "Is the order kept?",
    "times": "Between which times?",
    "approvals": "Do approvals bind what they claim?",
    "outside": "Is it the history that others saw?",
}
FACT_TOPIC: Final = {
    "container": "container",
    "bytes intact": "bytes intact",
    "listing": "listing",
    "originals": "originals",
    "copies": "copies for other tools",
    "derived pictures": "derived pictures",
    "records": "records",
    "signatures": "signatures",
    "head": "head",
    "seal": "seal",
    "sealed in person": "sealed in person",
    "persons": "persons",
    "claimed persons": "claimed persons",
    "order": "order",
    "chain": "chain",
    "time stamps": "time stamps",
    "device clocks": "device clocks",
    "boards": "boards",
    "time brackets": "time brackets",
    "approvals": "approvals",
    "release and check": "release and check",
    "release in force": "release in force",
    "closing": "closing",
    "held head": "head held outside",
    "replay": "measured again",
}
FACT_DETAILS: Final = "Details: {count}"
CHANGED_SAYS: Final = (
    "What differs between two states of this record. Each state is named by the number of its last record."
)
CHANGED_FROM: Final = "From"
CHANGED_TO: Final = "To"
CHANGED_START: Final = "the beginning"
CHANGED_NOW: Final = "now"
CHANGED_ANSWER: Final = "Answer of the last check"
CHANGED_ANSWER_IS: Final = "Whether the pour may start"
CHANGED_VERDICTS: Final = "Verdicts that changed"
CHANGED_VERSIONS: Final = "Versions that changed"
CHANGED_ADDED: Final = "Added: {count}"
CHANGED_NOTHING: Final = "Nothing differs"
CHANGED_NOTHING_SAYS: Final = "Choose two states that lie apart."
CHANGED_WAS: Final = "was"
CHANGED_IS: Final = "is"
CHANGED_NEVER: Final = "not judged"
CHANGED_COPIES: Final = (
    "Two copies of a record, such as a bundle sealed earlier and this folder, are compared from the command line: "
    "verifier timeline FOLDER --diff BUNDLE. It says where they part if one was rewritten."
)
ORIGINAL: Final = "original"
TABLES: Final = "Tables for a spreadsheet"
BUNDLE: Final = "Sealed bundle for a third person"
SHEET_FINDINGS: Final = "Findings"
SHEET_MEASUREMENTS: Final = "Measurements"
SHEET_COVERAGE: Final = "Coverage"
SHEET_REASONS: Final = "Reasons"
COLUMNS_FINDINGS: Final = (
    "element",
    "layer",
    "spot",
    "asked",
    "verdict",
    "probability, low",
    "probability, high",
    "lower limit",
    "upper limit",
    "drawing value",
    "worst value",
    "expanded uncertainty (95 %)",
    "unit",
    "values",
    "where the limit comes from",
    "next step",
)
COLUMNS_MEASUREMENTS: Final = (
    "element",
    "layer",
    "spot",
    "what",
    "gap number",
    "value",
    "expanded uncertainty (95 %)",
    "unit",
    "by",
    "person",
    "taken",
    "original",
    "SHA-256",
)
COLUMNS_COVERAGE: Final = ("element", "layer", "what", "asked", "there", "missing", "asked by")
COLUMNS_REASONS: Final = ("weight", "what is so", "what clears it", "who")
WEIGHT: Final = {"stops": "stops the pour", "condition": "condition", "caution": "caution"}

PLAN_TITLE: Final = "Plan of the pour"
PLAN_ALT: Final = "The pour from above, to scale."
PLAN_ELEMENT: Final = "{element}, whole element"
PLAN_SPOT: Final = "{element}, spot {spot}: {says}"
PLAN_SIGNS: Final = "Camera: a photo was taken there. Tape: a reading. Hatched: still to be taken. Touch a place to see it. Spots without a place of their own on the drawing lie in the order of their numbers."
PLAN_UNDRAWN: Final = "Not on the plan, because the drawing values give no length:"
PLAN_COVER: Final = "cover"
PLAN_WHOLE: Final = "Whole pour"
PLACE_NOTHING: Final = "Nothing is open here."
PLACE_DONE_BY: Final = "Taken here"
PLACE_GO: Final = "Go to {place}"
PLACE_SPOT: Final = "{element}, spot {spot}"
NEXT_TITLE: Final = "What is next"
NEXT_MORE: Final = "Everything else that is open ({count})"
NEXT_NOTHING: Final = "Nothing is left to do on the deck."
NEXT_STOPS: Final = "stops the pour"
NEXT_CONDITION: Final = "to be met before concrete"
BY_LAYER: Final = "Element by element, layer by layer"
PLACE_MORE: Final = "and {count} more"

POURS_TITLE: Final = "Pours"
POURS_NONE: Final = "No pour here is yours"
POURS_NONE_SAYS: Final = "Your name must stand under [people] in the pour's drawing values."
POURS_OTHERS: Final = "Pours of other people in this folder: {count}."
POURS_START: Final = "Planned start"
POURS_WORST: Final = "Worst finding"
POURS_WAITS: Final = "Waits for"
POURS_NOBODY: Final = "nobody"
POURS_NEWEST: Final = "Newest evidence"
POURS_NO_EVIDENCE: Final = "none in the record yet"
POURS_OPEN: Final = "Open this pour"
LOG_IN: Final = "Log in"
LOG_IN_SAYS: Final = "What you do here stands under your name."
LOG_IN_NAME: Final = "Name"
LOG_IN_PASSPHRASE: Final = "Passphrase"
LOG_IN_WRONG: Final = "Name and passphrase don't belong together. Try again; nothing else has happened."
LOG_IN_WAIT: Final = "Too many wrong tries for this name. The next one counts at {when}."
LOG_IN_ELSEWHERE_SENT: Final = "This was sent from another page. Log in here."
LOG_OUT: Final = "Log out"
LOGGED_IN: Final = "Logged in"
VISIT_OVER: Final = "You are not logged in any more"
VISIT_OVER_TODO: Final = "Log in again. What you sent is in the record."
VISIT_IDLE: Final = "Still you?"
VISIT_IDLE_SAYS: Final = "Nothing has happened here for a while. What you typed is kept."
GO_ON: Final = "Go on"
NOT_YOU: Final = "Not yet"
NOT_LINKED: Final = "Nobody here is linked to this log-in"
NOT_LINKED_SAYS: Final = "Ask whoever runs this page to link it to your name; that is done once."
NO_LOG_IN: Final = "Nobody logs in on this page: it is open on this machine only, and names are as chosen."
SEND_COUNT: Final = "Send photos ({count})"
SENT_ALL: Final = "All answered: {count}"
SENT_CLEAR: Final = "Clear this list"
SEND_HELD: Final = "not in the record yet; it is kept here"
SEND_AGAIN: Final = "Try those again"
LEFT_SECONDS: Final = "about {count} s left"
LEFT_MINUTES: Final = "about {count} min left"
WHERE_TAKEN: Final = "Where was this taken?"
WHERE_ELSE: Final = "Somewhere else"
AGAIN_MORE: Final = "More of them ({count})"

KEY_DONE: Final = "Your key"
KEY_YOURS: Final = "Your key in this record"
KEY_PASSPHRASE: Final = "Passphrase of your key"
KEY_AGAIN: Final = "The same once more"
KEY_ACCOUNT: Final = "Passphrase of your account"
KEY_NONE: Final = "You have no key in this record yet"
KEY_NONE_SAYS: Final = "What you sign is signed with a key of your own. It is made here under a passphrase that only you know, and that nobody can find again."
KEY_THERE_SAYS: Final = (
    "Your key from another pour is here. Its passphrase makes it known to this record, too."
)
KEY_MAKE: Final = "Make my key"
KEY_USE: Final = "Make my key known here"
KEY_NOT_MADE: Final = "No key was enrolled"
KEY_DIFFER: Final = "The two passphrases differ. Type both again."
KEY_ENROLLED: Final = "It is in the record: you can sign."
KEY_ASKED: Final = "Your key waits for somebody who introduces you"
KEY_ASKED_SAYS: Final = "Somebody who has a key in this record opens this view and compares the mark of your key with you, by voice."
KEY_ROLES: Final = "Asks to sign as"
KEY_MARK: Final = "Mark of the key"
KEY_COMPARE: Final = "Let the person read the mark to you before you sign."
KEY_INTRODUCE: Final = "Introduce this person"
KEY_INTRODUCED: Final = "The person is in the record and can sign."
ROLE: Final = {
    "site_engineer": "site engineer",
    "quality_engineer": "quality engineer",
    "reviewer": "reviewer",
    "engineer_of_record": "engineer of record",
    "reader": "reader",
}
DECIDE: Final = "Decide"
DECIDE_WHO: Final = "These may decide on this pour"
DECIDE_WAYS: Final = {"release": "release", "refuse": "refuse", "accept": "accept a deviation"}
SIGNED: Final = "Signed"
NOT_SIGNED: Final = "Nothing was signed"
REASON_NEEDED: Final = "A written reason is needed."
ACCEPT_SAYS: Final = "What you accept becomes a condition in the words below. It counts for these very values and this drawing only."
ACCEPT_WHY: Final = "Why it may stay as it is (empty: not accepted)"
ACCEPT_SIGN: Final = "Sign what is accepted"
ACCEPTED: Final = "The acceptance is in the record."
REFUSE_WHY: Final = "Why the pour is refused, and what would change that"
REFUSE_SIGN: Final = "Refuse and sign"
REFUSED: Final = "The refusal is in the record."
RELEASE_NOT: Final = "You can't release this pour"
RELEASE_STOPPED: Final = (
    "Reasons that stop this pour: {stops}. Each says what would clear it; until then it can't be released."
)
HEAD_SAYS: Final = "A release needs a head of the record that you keep outside of it, so that a rewritten record can be told. Type one that you kept earlier. If this is your first look, take down the present one first: on paper, or as a picture of its code."
HEAD_NOW: Final = "Present head"
HEAD_CODE: Final = "The head as a code and as a file"
HEAD_CODE_SAYS: Final = "Code that holds the signed head of this record"
HEAD_FILE: Final = "The head as a file"
HEAD_KEPT: Final = "The head that you keep"
HEADS_FILE: Final = "Or your own file of the heads that you have seen"
HEADS_GROWN: Final = "Take your file of heads back, with the present one added"
RELEASE_READ: Final = "Read what a release would say"
RELEASE_TEXT: Final = "Read this. It is what you sign, word for word."
RELEASE_ANEW: Final = "Check again and write it anew"
RELEASE_CHANGED: Final = "The pour has changed since this text was written."
RELEASE_SIGN: Final = "Release and sign"
RELEASED: Final = "The release is in the record. Keep the new head below outside of it."
RELEASE_DOCUMENT: Final = "Release document (PDF)"
SIGN_WHERE: Final = "Where you sign"
SIGN_WHERES: Final = {"here": "on this page", "away": "on my own machine"}
SIGN_AWAY_SAYS: Final = "Your private key stays on your machine. Download the text, sign it there, and bring the small file that this makes:"
SIGN_AWAY_TEXT: Final = "Download the text"
SIGN_AWAY_FILE: Final = "release.txt.sig"
SIGN_AWAY_SEND: Final = "Hand in the signature"
DECIDED: Final = "Decided so far"
DECIDED_KIND: Final = {"acceptance": "Deviation accepted", "refusal": "Refused", "release": "Released"}
DECIDED_RECORD: Final = (
    "Record {seq}; records since: {later}. It stands only for what was in the record then."
)

YES: Final = "yes"
NO: Final = "no"
YES_NO: Final = {"no": "no", "yes": "yes"}
ORDER_SITE: Final = "Mixed on site"
ORDER_SITE_SAYS: Final = (
    "The drawing file says that this concrete is mixed on site. This is what is to be there:"
)
ORDER_INCOMPLETE: Final = "The order is not complete"
ORDER_NONE: Final = "No order yet"
ORDER_NONE_SAYS: Final = "The drawing holds {net} m³ net. A draft takes over what drawing and code say."
ORDER_DRAFT: Final = "Write a draft of the order"
ORDER_CHANGED: Final = "Changed since it was sent"
ORDER_CHANGED_SAYS: Final = "Send it again and have the plant confirm it."
ORDER_NOT_SENT: Final = "Not sent yet"
ORDER_NOT_SENT_SAYS: Final = (
    "Check it against the drawing, send it to the plant, then record that it was sent."
)
ORDER_SENT: Final = "Sent, not confirmed"
ORDER_CONFIRMED: Final = "Confirmed by the plant"
ORDER_SEND: Final = "It was sent to the plant"
ORDER_WORD: Final = "The plant's word"
ORDER_PLANT: Final = "Plant"
ORDER_BY: Final = "Who said it"
ORDER_READY: Final = "It does not stand in maintenance on that day"
ORDER_STOCK: Final = "Stock and trucks are confirmed"
ORDER_CONFIRM: Final = "Record the confirmation"
ORDER_PDF: Final = "Order sheet (PDF)"
ORDER_TEXT: Final = "Text to send"
ORDER_EDIT: Final = "Fields of the order"
ORDER_FIRST: Final = "First truck"
ORDER_SUPPLY: Final = "Supply and placing: trucks, pump, times"
ORDER_KEPT: Final = "What you type is kept at once, complete or not. An order that was sent and then changed has to be sent again."
ORDER_USUAL: Final = "the usual one"
ORDER_NO_NUMBER: Final = "No number stands in the file; type one."
ORDER_FIRST_DAY: Final = "Day of the first truck"
ORDER_TRIP: Final = "Round of one truck"
ORDER_TRIP_LACKS: Final = "Still missing for the plan: {what}."
ORDER_FIELD: Final = {
    "grade": "Grade",
    "volume_m3": "Volume, m³",
    "rate_m3_per_h": "Rate, m³/h",
    "truck_m3": "One truck, m³",
    "interval_min": "Interval, min",
    "slump_mm": "Slump, mm",
    "max_aggregate_mm": "Largest aggregate, mm",
    "cement": "Cement",
    "mix_name": "Name of the mix on the ticket",
    "address": "Where the trucks go",
    "gate_contact": "Contact at the gate",
    "balance_called_by": "Who calls the last load",
    "may_refuse": "Who may refuse a load",
    "may_order_water": "Who may order water",
    "washing_place": "Washing place",
    "sampling_by": "Who takes samples",
    "samples_planned": "Samples",
    "specimens_planned": "Specimens",
    "second_plant": "Second plant",
    "second_plant_accepted_by_engineer": "The engineer of record agrees to the second plant",
    "slump_at": "Slump measured at",
    "admixture": "Admixture",
    "retarder_hours": "Retarded by, h",
    "exposure_class": "Exposure class",
    "chloride_class": "Chloride class",
    "max_water_cement": "Water : cement at most",
    "min_cement_kg_m3": "Cement at least, kg/m³",
    "people_present": "Who is there, with commas between",
    "truck_limits": "Limits for trucks on the way",
    "lead_time_h": "Notice that the plant wants, h",
    "placing.pump_reach_m": "Reach of the pump, m",
    "placing.pump_wind_limit_km_h": "Pump stops from wind of, km/h",
    "placing.hose_m": "Hose, m",
    "placing.line_diameter_mm": "Line, mm across",
    "supply.trucks": "Trucks on this pour",
    "supply.pumps": "Pumps",
    "supply.front_m": "Length of one strip, m",
    "supply.strip_m": "Width of one strip, m",
    "supply.age": "Age at discharge by",
    "supply.slump": "Tolerance of the slump by",
    "supply.joint": "Time to a cold joint by",
    "supply.trip.load_min": "Loading, min",
    "supply.trip.out_min": "Way to the site, min",
    "supply.trip.wait_min": "Waiting, min",
    "supply.trip.discharge_min": "Discharge, min",
    "supply.trip.wash_min": "Washing, min",
    "supply.trip.back_min": "Way back, min",
    "placing.pump": "Pump, crane or barrow",
    "placing.second_way": "Second way of placing",
    "placing.vibrators": "Vibrators that work",
    "placing.spare_vibrators": "Spare vibrators",
    "placing.lights": "Lights",
}
PLAN_POUR: Final = "Plan of the pour"
PLAN_CANT: Final = "No plan yet"
PLAN_LOADS: Final = "Loads"
PLAN_TRUCKS: Final = "Trucks"
PLAN_TRUCKS_SAYS: Final = "{have} at hand, {need} keep the interval without a spare"
PLAN_INTERVAL: Final = "Interval kept"
PLAN_DURATION: Final = "Duration"
PLAN_STRIPS: Final = "Strips"
PLAN_AGE: Final = "{age} min old when a truck is empty, limit {limit} min"
PLAN_JOINT: Final = "A face waits {age} min for the next strip, limit {limit} min"
PLAN_LATE: Final = "When trucks are late"
PLAN_LATE_SAYS: Final = "{runs} runs with uneven travel, breakdowns and pump stops. How uneven is a setting of the project, no forecast."
PLAN_AXIS: Final = "oldest face in a run, min"
PLAN_LIMIT: Final = "cold joint"
PLAN_PLANNED: Final = "planned"
PLAN_LATE_ALT: Final = "Histogram: {over} of {runs} runs have a face older than {limit} min."
PLAN_WHAT_IF: Final = "One truck or pump more or less"
PLAN_CHANCE: Final = "chance that a face passes the joint time"
PLAN_CHANGE: Final = {
    "as-planned": "as planned, {minutes} min",
    "truck-more": "one truck more, {minutes} min",
    "truck-less": "one truck less, {minutes} min",
    "pump-more": "one pump more, {minutes} min",
    "pump-less": "one pump less, {minutes} min",
}
PLAN_WHAT_IF_SAYS: Final = "Chance that a face passes the joint time, with its 95 % interval from the number of runs; beside it the middle duration."
FALSEWORK_TITLE: Final = "Forms and props"
FALSEWORK_SAYS: Final = "Arithmetic to see what can't be right. Forms and props belong to their designer, and the permit to load stands in the rounds."
FALSEWORK_NONE: Final = "Props are not checked"
FALSEWORK_NONE_SAYS: Final = "Write the props of each slab below, or into falsework.toml beside pour.toml."
FALSEWORK_GRID: Final = "{slab}: {load} kN come on a prop that may carry {may} kN"
FALSEWORK_GRID_SAYS: Final = (
    "{load} kN/m² on the deck; square grid of {grid} m at most; bracing takes {brace} kN a prop. {source}."
)
FALSEWORK_PLATE: Final = "{slab}: {pressure} kPa under a sole plate, the ground may take {may} kPa"
FALSEWORK_PLATE_SAYS: Final = "{area} m² or more would hold."
FALSEWORK_SIDE: Final = "{element}, {what}, {height} m: {pressure} kPa at the foot, {force} kN on each metre"
FALSEWORK_SIDE_WHAT: Final = {"beam side": "beam side", "slab edge": "edge"}
FALSEWORK_SIDE_OPEN: Final = "Nobody has written what this form may carry."
FALSEWORK_SIDE_MAY: Final = "It may carry {may} kPa ({source})."
FALSEWORK_LOOKED: Final = {
    "soffit level": "level of the soffit",
    "plan position": "position in plan",
    "edge line": "line of the edge",
    "prop plumb": "plumb of props",
    "prop eccentricity": "load off the middle of a prop",
    "width": "width",
    "depth": "depth",
    "thickness": "thickness",
}
FALSEWORK_FLOOR: Final = "{floor}: {load} of {may} kN/m²"
FALSEWORK_FLOOR_CARRIES: Final = "carries it"
FALSEWORK_FLOOR_DOWN: Final = "{down} kN/m² go on down; back-props at most {grid} m apart"
FALSEWORK_LEFT: Final = "More goes down than the floors carry"
FALSEWORK_LEFT_SAYS: Final = "{left} kN/m² go below the last floor that is named."
FALSEWORK_SECTIONS: Final = "How far sections may be off"
FALSEWORK_SECTION: Final = "{element}, {what} {drawn} mm: {bounds}"
FALSEWORK_CAUTIONS: Final = "Cautions"
FALSEWORK_FORM: Final = {
    "grid": "Write the props of a slab",
    "side": "Write what a side may carry",
    "found": "Write a reading on forms or props",
}
FALSEWORK_FIELD: Final = {
    "loads": "Loads by",
    "slab": "Slab",
    "spacing_x_m": "Props apart one way, m",
    "spacing_y_m": "Props apart the other way, m",
    "prop": "Class and size of the prop, such as B30",
    "extension_m": "Extension in use, m",
    "safe_load_kn": "Or: safe load of the maker's table, kN",
    "safe_load_source": "Where the safe load stands",
    "service_load_kn_m2": "Design load in use with the slab itself, unfactored, kN/m² (engineer of record)",
    "on_it_kn_m2": "What comes on it when props go, kN/m²",
    "element": "Element",
    "may_carry_kpa": "The form may carry, kPa (its designer)",
    "may_carry_source": "Where that stands",
    "height_m": "Height of fresh concrete, m (as drawn if empty)",
    "what": "What was read",
    "planned_mm": "As planned, mm",
    "found_mm": "Found, mm",
}
FALSEWORK_WRITE: Final = "Write it"
FALSEWORK_NOT_WRITTEN: Final = "Not written"
FALSEWORK_NO_SLAB: Final = "The drawing values name no slab."
REMOVAL_NONE: Final = "No order by loads"
REMOVAL_TITLE: Final = "In which order props may go"
REMOVAL_STEP: Final = {
    "holds": "may go in its turn, once the engineer of record says so",
    "does not hold": "must stay",
    "not known": "stays until the strength is shown",
    "waits": "waits for the step before it",
}
WEATHER_TITLE: Final = "Weather"
WEATHER_SAYS: Final = "Advice with its source; weather alone never releases or stops a pour."
WEATHER_FILE: Final = "Forecast as CSV: at, air_c, humidity_percent, wind_km_h, rain_mm, concrete_c"
WEATHER_KEEP: Final = "Keep this forecast"
WEATHER_TYPE: Final = "Type one hour"
WEATHER_DAY: Final = "Day"
WEATHER_RAIN: Final = "Rain, mm"
WEATHER_KEEP_HOUR: Final = "Keep this hour"
WEATHER_NONE: Final = "Nothing to do for the hours of pour and finish."
WEATHER_RATE: Final = "evaporation, kg/m²h"
WEATHER_GUIDE: Final = "act from"
WEATHER_ALT: Final = (
    "Evaporation over the hours: at most about {value}, true rate between {low} and {high} kg/m² an hour."
)
LOG_NO_ORDER: Final = "The log is not held against an order"
LOG_PLACED: Final = "Placed of ordered"
LOG_PLACED_OF: Final = "{placed} / {ordered} m³"
LOG_LEFT: Final = "Left to place"
LOG_DONE: Final = "ended"
LOG_LOADS: Final = "Loads to come"
LOG_LOADS_SAYS: Final = "{count}, last {last} m³"
LOG_GAP: Final = "Longest gap"
LOG_ENDS: Final = "At this rate it ends about {when}."
LOG_CALL: Final = "Call the balance now"
LOG_CALL_SAYS: Final = "Measure first what is left on the deck."
LOG_ALARMS: Final = "Alarms"
LOG_NO_ALARM: Final = "No alarm."
LOG_STOP: Final = "Stop"
LOG_NOTE: Final = "Note"
LOG_WITNESS: Final = "Witness points"
LOG_ENTRIES: Final = "Log"
LOG_KIND: Final = {
    "arrived": "Truck arrives",
    "discharging": "Discharge begins",
    "emptied": "Truck empty",
    "test": "Slump, temperature",
    "water": "Water added",
    "refused": "Refuse a load",
    "cube": "Cube made",
    "vibrator": "Vibrator changed",
    "people": "People",
    "reading": "Weather reading",
    "strip": "Strip begins",
    "movement": "Forms, props",
    "stop": "Stop",
    "go-on": "Go on",
    "joint": "Joint made",
    "other": "Something else",
    "end": "End of the pour",
}
LOG_EVENT: Final = {
    "start": "Start",
    "stop": "Stop",
    "go on": "Go on",
    "vibrator changed": "Vibrator changed",
    "rain": "Rain",
    "joint made": "Joint made",
    "people": "People",
    "end": "End of the pour",
    "other": "Something else",
}
LOG_FIELD: Final = {
    "ticket": "Ticket",
    "volume_m3": "Volume, m³",
    "batch_at": "Batch time on the ticket; empty if it can't be read",
    "at": "Time",
    "plant": "Plant",
    "place": "Place",
    "returned_m3": "Went back, m³",
    "slump_mm": "Slump, mm",
    "concrete_c": "Concrete, °C",
    "sample": "Sample",
    "litres": "Water, L",
    "ordered_by": "Ordered by; empty if nobody",
    "within_hold_back": "Within the hold-back of the ticket",
    "says": "What, in words",
    "mark": "Mark on the mould",
    "age_to_test_days": "Age at test, days",
    "air_c": "Air, °C",
    "humidity_percent": "Humidity, %",
    "wind_km_h": "Wind, km/h",
    "rain": "Rain",
    "moved_mm": "Moved, mm",
    "expected_mm": "Expected at most, mm",
    "sudden": "Sudden or uneven",
    "name": "Strip",
    "neighbour": "Beside the older strip; empty if none",
    "seen": "What is seen",
}
LOG_PHOTO: Final = "Photo of something"
LOG_PHOTO_FILE: Final = "Photo"
LOG_RAIN: Final = {
    "none": "no rain",
    "first drops": "first drops",
    "pools can't be removed": "pools can't be removed",
}
LOG_WORDS: Final = {
    "keep": "Keep",
    "back": "Back",
    "needed": "Still needed:",
    "waiting": "Kept on this phone, not yet in the record: {count}",
    "again": "Send again",
    "wrong": "Not taken:",
    "edit": "Correct it",
    "drop": "Leave it out",
    "full": "This browser can't keep more; write it on paper and free some space.",
}
CLOSE_CLOSED: Final = "The record is closed"
CLOSE_READY: Final = "Nothing lacks"
CLOSE_READY_SAYS: Final = "A reviewer or the engineer of record may close the record."
CLOSE_LACKS: Final = "Lacking before the record closes: {count}"
CLOSE_LACKS_SAYS: Final = "Each with who brings it."
CLOSE_LIST: Final = "What lacks"
CLOSE_WRITE: Final = "Write something else"
CLOSE_FORM: Final = {
    "terms": "Temperature and cement",
    "result": "Result of a sample",
    "strength": "Strength shown for striking",
    "struck": "Forms or props taken away",
    "propping": "Back-props under one floor",
    "back-props": "All back-props together",
    "level": "Level or straightedge",
    "defect": "Defect",
    "explanation": "Why the volume differs",
    "query": "Question to the engineer of record, or its answer",
}
CLOSE_KEEP: Final = "Put it into the record"
CLOSE_NOT_KEPT: Final = "Not in the record"
CURING_TITLE: Final = "Curing"
CURING_NO_DAYS: Final = "No days on file"
CURING_DAYS: Final = "Days asked for: {days}."
CURING_NOT_BEGUN: Final = "Not begun"
CURING_NOT_BEGUN_SAYS: Final = "Days count from the end of the pour in the log."
CURING_STATE: Final = {
    "conforming": "looked at and wet",
    "non_conforming": "dry or torn",
    "missing": "nobody has looked yet",
    "inconclusive": "not decided",
}
CURING_DONE: Final = "Done."
CURING_UNTIL: Final = "Until {when}."
CURING_LONGER: Final = "Longer by a day for each bad day ({bad}) and for each day without a look ({empty})."
LOOK_TITLE: Final = "Look at the curing now"
LOOK_CELSIUS: Final = "At the surface, °C"
LOOK: Final = {"wet": "It is wet", "dry": "It is dry, put right", "covering torn": "Covering torn, put right"}
LOOK_SAYS: Final = "Once each shift, once on rest days."
RESULTS_TITLE: Final = "Results"
RESULTS_NONE: Final = "No result yet."
RESULTS_LINE: Final = "Sample {sample}, age in days {days}: {value}"
RESULTS_GAIN: Final = "usual at this age: {share} % of 28 days, information only"
RESULTS_LIMITS: Final = "Mean at least {mean} MPa, each at least {each} MPa."
RESULTS_VERDICT: Final = {"met": "Met", "not met": "Not met", "not yet judged": "Not yet judged"}
RESULTS_NO_RULE: Final = "No rule on file"
RESULTS_NO_RULE_SAYS: Final = "The engineer of record decides on the results."
STRIKING_TITLE: Final = "Striking"
STRIKING_NO_DATES: Final = "No dates yet"
STRUCK_DAY: Final = "Day it was taken away"
STRIKING_EARLY: Final = (
    "Taken away {when}, before these days and without enough strength shown: the engineer of record decides."
)
STRIKING_DONE: Final = "Taken away {when}."
STRIKING_MAY: Final = "The days have passed; the engineer of record says when."
STRIKING_STANDS: Final = "Stays."
STRIKING_PART: Final = {
    "sides": "Sides",
    "slab soffit, props stay": "Slab soffit, props stay",
    "beam soffit, props stay": "Beam soffit, props stay",
    "slab props": "Props of the slab",
    "beam props": "Props of the beam",
}
STRIKING_FROM: Final = "{part}: not before {when}"
STRIKING_PROOF: Final = "Strength shown {shown} MPa, needed {needed} MPa"
STRIKING_ORDER: Final = "Order of taking away"
STRIKING_CAUTION: Final = (
    "Days only stand in for strength. The engineer of record says when forms and props go."
)
DEFECTS_TITLE: Final = "Defects"
DEFECTS_DECIDED: Final = "Decided by {by}: {decision}"
DEFECTS_OPEN: Final = "Waits for the engineer of record."
LEVELS_TITLE: Final = "Levels"
TERMS_CANTILEVER: Final = "A part sticks out (cantilever)"
TERMS_EARLY: Final = "High-early-strength concrete"
TERMS_LIVE: Final = "Live load above dead load"
TERMS_CLASS: Final = "Curing class"
TERMS_STRIKING: Final = "Striking periods that the execution specification asks for"
TERMS_STRIKINGS: Final = {
    "of the code": "none; EN 13670 gives no days, the strength decides",
    "BS 8110-1": "BS 8110-1, table 6.2 (withdrawn; by surface temperature)",
}
TERMS_RATIO: Final = "Strength at 2 days over that at 28 days"
TERMS_SLAB: Final = "Largest span of the slab, m"
TERMS_BEAM: Final = "Largest span of the beams, m"
QUERY_WHICH: Final = "Which question"
QUERY_NEW: Final = "a new question"
QUERY_SAYS: Final = "The question, or the answer"
LEVEL_KIND: Final = "What was read"
LEVEL_WHAT: Final = {
    "level": "level of the top",
    "straightedge": "gap under a 2 m straightedge",
    "thickness": "thickness",
}
TERMS_MEAN: Final = "Mean air temperature since the pour, °C"
TERMS_CEMENT: Final = "Cement"
TERMS_CEMENTS: Final = {"ordinary": "ordinary", "blended": "blended or with additions"}
TERMS_HOT: Final = "Hot and dry weather"
RESULT_SAMPLE: Final = "Sample"
RESULT_AGE: Final = "Age at test, days"
RESULT_MPA: Final = "Specimens, MPa, with blanks between"
RESULT_MPA_WRONG: Final = "Only numbers, for example: 27.2 26.8 28.0"
LEVEL_OFF: Final = "Difference from the plan, mm"
LEVEL_DOUBT: Final = "Expanded uncertainty (95 %), mm"
STRENGTH_PART: Final = "For"
STRENGTH_PARTS: Final = {"soffit": "a soffit", "side": "a side"}
STRENGTH_STRESS: Final = "Stress once the props are away, from the engineer of record, MPa"
STRUCK_WHAT: Final = "What was taken away"
STRUCK_BY: Final = "On what evidence"
STRUCK_EVIDENCE: Final = {
    "days of the code": "days of the code",
    "strength shown": "strength shown",
    "decided by the engineer of record": "decided by the engineer of record",
}
REMOVAL_DONE: Final = "taken away {when}"
PROPPING_KNOWN: Final = "Floors of this pour: {floors}."
PROPPING_FLOOR: Final = "Floor above the back-props"
PROPPING_STEP: Final = "What was done"
PROPPING_STEPS: Final = {"placed": "placed", "taken away": "taken away"}
PROPPING_SIZE: Final = {
    "spacing_x_m": "Spacing in one direction [m]",
    "spacing_y_m": "Spacing in the other direction [m]",
    "prop_kn": "What one back-prop may carry [kN]",
}
PROPPING_DAY: Final = "Day"
PROPPING_STATE: Final = {
    "not written": "no back-props written",
    "stand": "back-props stand and hold",
    "do not hold": "back-props do not hold",
    "taken away": "taken away",
    "taken too early": "taken away too early",
}
BACK_PROPS: Final = "Back-props"
BACK_PROPS_STATE: Final = {
    "none needed": "none needed",
    "removed and written": "removed and written",
    "still standing": "still standing",
}
DEFECT_KIND: Final = "Kind"
DEFECT_KINDS: Final = {
    "cold joint line": "line of a cold joint",
    "level, bulge or step": "level, bulge or step",
    "stain, leak or exposed bar": "stain, leak or exposed bar",
    "honeycomb": "honeycomb",
    "crack": "crack",
}
DEFECT_SAYS: Final = "What is seen: size and place"
DEFECT_HOW: Final = "Describe, don't judge: no cause, no weight. The engineer of record judges."
DEFECT_PHOTO: Final = "Photo with a scale"
DEFECT_SIZE: Final = {"length_mm": "Length, mm", "width_mm": "Width, mm", "depth_mm": "Depth, mm"}
DEFECT_BAR: Final = "A bar is seen"
DEFECT_WIDTH: Final = "Width {count} of 3, mm"
DEFECT_WAY: Final = "Direction"
EXPLAIN_SAYS: Final = "Why placed and computed volume differ"
SIGN_TITLE: Final = "Signatures"
SIGN_POST: Final = {
    "contractor's engineer": "Contractor's engineer",
    "independent inspector": "Independent inspector",
    "engineer of record": "Engineer of record",
}
SIGN_OPEN: Final = "not signed"
SIGN_AGAIN: Final = "{person}, before later entries (record {record}): sign again"
SIGN_SIGN: Final = "Sign or decide"
SIGN_AS: Final = "As"
SIGN_DECIDES: Final = "What is decided"
SIGN_ONLY: Final = "nothing, only sign"
SIGN_OTHER: Final = {
    "results": "the results",
    "levels": "levels off their limit",
    "striking": "what was struck early",
}
SIGN_DEFECT: Final = "defect {number}"
SIGN_DECISION: Final = "The decision in words"
SIGN_GIVE: Final = "Sign"
SIGN_CLOSE: Final = "Close the record"
RELEASE_AGAIN: Final = "Release once more"

# Handed over for review, and what the reviewer wants from the deck

HAND_OVER: Final = "Hand over for review"
HAND_OVER_SAYS: Final = (
    "Nothing stops the pour. The reviewer sees who handed it over and when; new evidence ends the hand-over."
)
HAND_OVER_OPEN: Final = (
    "Reasons that still stop the pour: {stops}. It may be handed over all the same; the reviewer sees them."
)
HAND_OVER_TEXT: Final = "What the reviewer should know (may stay empty)"
TAKE_BACK: Final = "Take it back"
TAKE_BACK_WHY: Final = "Why it is taken back (may stay empty)"
HANDED_STATE: Final = {
    "waits": "Handed over for review by {person}, {when}",
    "changed": "Handed over by {person}, {when}; no longer, since {since}",
    "answered": "Handed over by {person}, {when}; the reviewer has answered: {since}",
    "taken back": "Taken back from review by {person}, {when}",
}
WANTED: Final = "The reviewer wants this from you: {count}"
WANTED_KIND: Final = {"return": "sent back", "spot.ask": "a further spot", "remark": "a remark"}
WANTED_PLACE: Final = "The place that is meant"
WANTED_PHOTO: Final = "Answer with a new photo (sent as soon as it is chosen)"
WANTED_SAYS: Final = "Answered with a new photo."
WANTED_ANSWERED: Final = "Answered; it waits for {person} to look at it again."

# Tables for a spreadsheet, from where they are shown

TABLE: Final = {
    "readings": "Readings",
    "rounds": "Answers",
    "round events": "Hold points and events",
    "order": "Order",
    "deliveries": "Deliveries",
    "slumps": "Slump",
    "water": "Water added",
    "specimens": "Specimens",
    "strips": "Strips",
    "hours": "Hours",
    "movements": "Movements",
    "events": "Events",
    "results": "Results",
    "curing": "Curing",
    "striking": "Striking",
    "levels": "Levels",
    "defects": "Defects",
}
TABLE_COLUMNS: Final = {
    "readings": (
        "element",
        "layer",
        "spot",
        "what",
        "gap number",
        "gaps covered",
        "value, mm",
        "expanded uncertainty (95 %), mm",
        "count, bars",
        "person",
        "read",
        "file",
    ),
    "rounds": (
        "round",
        "item",
        "what",
        "place",
        "answer",
        "value",
        "unit of the item",
        "on the drawing",
        "lower limit",
        "upper limit",
        "where the limit comes from",
        "photos",
        "documents",
        "remark",
        "person",
        "time on site",
    ),
    "round events": ("what", "item", "round", "who or what", "said", "person", "time on site"),
    "order": ("field", "ordered", "unit"),
    "deliveries": (
        "ticket",
        "plant",
        "mix",
        "volume, m³",
        "loaded",
        "arrived",
        "discharge begun",
        "discharge ended",
        "concrete, °C",
        "place",
        "sample",
        "refused because",
        "taken by",
    ),
    "slumps": ("ticket", "portion", "slump, mm", "time on site"),
    "water": ("ticket", "water, L", "ordered by", "within what was held back", "time on site"),
    "specimens": ("sample", "mark", "ticket", "made", "to be tested at, days", "place", "person"),
    "strips": ("strip", "begun", "ended", "neighbour covered", "neighbour", "layer, mm", "vibrators"),
    "hours": (
        "time on site",
        "air, °C",
        "humidity, %",
        "wind, km/h",
        "concrete, °C",
        "rain",
        "highest heap, mm",
        "steel out of place, m",
        "person",
    ),
    "movements": ("time on site", "place", "moved, mm", "expected, mm", "seen", "person"),
    "events": ("time on site", "what", "said", "person"),
    "results": ("sample", "age, days", "specimen", "specimen, MPa", "sample, MPa", "no result because"),
    "curing": ("time on site", "found", "temperature, °C", "put right", "person"),
    "striking": ("part", "not before", "struck", "where the date comes from"),
    "levels": ("place", "off by, mm", "uncertainty, mm", "what", "person", "time on site"),
    "defects": (
        "number",
        "kind",
        "place",
        "described",
        "length, mm",
        "width, mm",
        "depth, mm",
        "seen by",
        "time on site",
        "decision",
        "decided by",
    ),
}
TABLE_EVENT: Final = {"hold": "hold point released", "witness": "witness told", "signed": "round signed"}

# Points typed on a photo

POINTS_TYPE: Final = "Type the points"
POINTS_TYPE_SAYS: Final = (
    "Pixels of the upright photo, {width} wide and {height} high, from its upper left corner."
)
POINTS_AXIS: Final = "Point {number}, {axis}, px"
POINTS_TYPED: Final = "Set these points"
POINTS_TYPE_ALL: Final = "Fill in every number first."

# Photos chosen and not sent

SEND_CHOSEN: Final = "Chosen, not sent: {count}"
SEND_CHOSEN_SAYS: Final = (
    "They are kept here until you send them, {days} days at most, also after a reload and in another tab."
)
SEND_CHOSEN_WHICH: Final = "Which ones"
SEND_CHOSEN_DROP: Final = "Leave out"
SEND_CHOSEN_DROP_ALL: Final = "Leave them all out"
SEND_NOT_KEPT: Final = "Not taken"
ROUNDS_GO: Final = "Go to the rounds"

# Short forms

FORM_FILE_KEPT: Final = "kept; it goes in together with the entry"
FORM_FILE_DROP: Final = "Take the file back"
FORM_EMPTY: Final = "Something is still empty"
FORM_EMPTY_SAYS: Final = "Fill it in, then touch the button again."

# Check length of a board

BOARD_CHECK: Final = "Check length of a board"
BOARD_CHECK_SAYS: Final = "Read the check line on the print with a steel rule, to a tenth of a millimetre. A print 2 % off would shift every gap by as much."
BOARD_NUMBER: Final = "Number of the board"
BOARD_PAPER: Final = "Sheet and true length"
BOARD_MEASURED: Final = "Read on the print, mm"
BOARD_KEEP: Final = "Enter this length"
BOARD_NOT_KEPT: Final = "Not entered"
