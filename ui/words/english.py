"""Every sentence that the page itself says, in English. Names, remarks and file texts come from elsewhere."""

from __future__ import annotations

from typing import Final

TITLE: Final = "Before the pour"
LANGUAGE: Final = "Language"
LANGUAGE_NAME: Final = "English"
NAV: Final = {
    "pours": "Pours",
    "missing": "To do",
    "findings": "Findings",
    "photos": "Photos",
    "decision": "Decision",
    "timeline": "Record",
}
PLANNED: Final = "Planned start {when} · {code}"
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
    "clear-distance": "Clear distance between bars",
    "least-steel": "Least steel",
    "diameter": "Bar diameter",
    "cover": "Cover",
    "lap": "Lap length",
    "bar-count": "Number of bars",
    "block-pitch": "Pitch of cover blocks",
    "chair-pitch": "Pitch of chairs",
    "edge-distance": "Distance to the edge",
}
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
SEND_BY_NAME: Final = "from the file names"
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
MEAN_OF: Final = "mean spacing {value} over {gaps} gaps"
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
GAPS: Final = "Gaps spanned"
GAP_NUMBER: Final = "Number of the gap"
INSTRUMENT: Final = "Instrument"
READING: Final = "Reading, mm"
READING_AGAIN: Final = "Second reading, mm"
BARS: Final = "Bars counted"
OVER_GAPS: Final = "over {count} gaps"
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
FINDINGS_BEHIND: Final = "Where this comes from"
FINDINGS_TAPE: Final = "Tape beside photo"
FINDINGS_ASIDE: Final = "Seen too bluntly to be judged"
BLOCKED: Final = "Can't stand"
CHAIN_FILE: Final = "Original"
CHAIN_PIXELS: Final = "Pixels of the worst value"
CHAIN_ROW: Final = "Row"
CHAIN_METHOD: Final = "Method"
SEE_PHOTO: Final = "See it on the photo"
FINDINGS_NONE: Final = "There is nothing to show here."
FINDINGS_ASKED: Final = "Asked"
FINDINGS_SOURCE: Final = "Where the limit comes from"
FINDINGS_NEXT: Final = "Next step"
FINDINGS_CHAIN: Final = "Back to the pixels"
FINDINGS_CONSEQUENCE: Final = (
    "What a deviation does (information for the engineer of record, never an acceptance)"
)
FINDINGS_UNMEASURED: Final = "Nothing measured yet."
PROBABILITY: Final = "probability of conforming"

PHOTOS_NONE_TITLE: Final = "No photo yet"
PHOTOS_NONE: Final = "Send some from the view with what is to do, or with: verifier add FOLDER PHOTO..."
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
REVIEW_PASSPHRASE: Final = "Passphrase of your own key"
REVIEW_PASSPHRASE_SAYS: Final = "It opens your key for this one signature and is kept nowhere."
REVIEW_NEEDS_WORDS: Final = "Write what you mean first."
REVIEW_NEEDS_SPOT: Final = "Name the spot first."
REVIEW_NEEDS_ELEMENT: Final = "This photo has no place yet: a further spot needs its element."
REVIEW_NEEDS_RECORD: Final = "This photo is not in the record yet; add it there first."
REVIEW_DONE: Final = "It is in the record."
REVIEW_REFUSED: Final = "Not recorded"
REVIEW_NO_KEY: Final = "There is no key of {person} on this machine. The view with the decision makes one, or: verifier enrol FOLDER."
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
TIMELINE_ONLY: Final = "Show"
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
NOT_LINKED_SAYS: Final = (
    "Whoever runs this page links it once: verifier account link FOLDER --person NAME --identity IDENTITY"
)
NO_LOG_IN: Final = "Nobody logs in on this page: it is open on this machine only, and names are as chosen. Accounts are made with: verifier account add FOLDER --person NAME"
SEND_COUNT: Final = "Send photos ({count})"
SENT_ALL: Final = "All {count} answered"
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
