"""Every sentence that the page itself says, in German."""

from __future__ import annotations

from typing import Final

TITLE: Final = "Vor dem Betonieren"
LANGUAGE: Final = "Sprache"
LANGUAGE_NAME: Final = "Deutsch"
NAV: Final = {
    "pours": "Abschnitte",
    "missing": "Zu tun",
    "findings": "Befunde",
    "photos": "Fotos",
    "decision": "Entscheid",
    "timeline": "Akte",
}
PLANNED: Final = "Geplanter Beginn {when} · {code}"
ANSWER: Final = {"go": "Frei", "go_with_conditions": "Frei unter Bedingungen", "no_go": "Nicht frei"}
ANSWER_SAYS: Final = {
    "go": "Nichts in dieser Akte spricht gegen das Betonieren.",
    "go_with_conditions": "Nichts hält das Betonieren auf, sobald die Bedingungen erfüllt sind; jede muss vor dem Beton erfüllt sein.",
    "no_go": "Es darf nicht betoniert werden. Bei jedem Grund steht, was ihn behebt.",
}
ANSWER_COUNTS: Final = "Gründe dagegen: {stops} · Bedingungen: {conditions}"
VERDICT: Final = {
    "conforming": "konform",
    "non_conforming": "nicht konform",
    "inconclusive": "nicht entschieden",
    "missing": "fehlt",
}
INDICATED: Final = "nicht entschieden (ein Foto deutet eine Stabgröße nur an)"
RULE: Final = {
    "single-gap": "Jeder einzelne Abstand",
    "mean-spacing": "Mittlerer Abstand",
    "largest-spacing": "Größter Abstand nach Norm",
    "clear-distance": "Lichter Abstand der Stäbe",
    "least-steel": "Mindestbewehrung",
    "diameter": "Stabdurchmesser",
    "cover": "Betondeckung",
    "lap": "Übergreifungslänge",
    "bar-count": "Anzahl der Stäbe",
    "block-pitch": "Abstand der Abstandhalter",
    "chair-pitch": "Abstand der Unterstützungskörbe",
    "edge-distance": "Abstand zum Rand",
}
MEASURAND: Final = {
    "mean_spacing": "Mittlerer Abstand über mehrere Felder",
    "single_gap": "Ein Abstand, Achse zu Achse",
    "cover": "Betondeckung",
    "bar_diameter": "Stabdurchmesser",
    "lap_length": "Übergreifungslänge",
    "bar_count": "Anzahl der Stäbe",
}
ELEMENT: Final = "Bauteil"
SPOT: Final = "Stelle"
LAYER: Final = "Lage"
LAYER_UNNAMED: Final = "Lage nicht genannt"
WHAT: Final = "Was gemessen wurde"
WHO: Final = "Wer sind Sie?"
MEASURED: Final = "Gemessen"
WORST_OF: Final = "Schlechtester von {count}"
OF: Final = "{there} von {asked}"
SPOT_STATE: Final = {
    "conforming": "vorhanden, konform",
    "non_conforming": "nicht konform",
    "inconclusive": "vorhanden, nicht entschieden",
    "missing": "noch aufzunehmen",
}
JUMP: Final = (("#send-photos", "Fotos senden"), ("#type-readings", "Ablesungen eintippen"))
LIMIT: Final = "Grenze"

NO_FOLDER_TITLE: Final = "Welcher Betonierabschnitt?"
NO_FOLDER: Final = (
    "Starten Sie die Seite mit einem Ordner: verifier page FOLDER. Einen neuen legt an: verifier new FOLDER"
)
CANT_READ: Final = "Das lässt sich noch nicht zeigen"
BROKE: Final = "Auf dieser Seite ist etwas schiefgegangen"
BROKE_SAYS: Final = (
    "Verloren ist nichts: Gesendetes liegt in der Akte, Getipptes ist aufgehoben. Laden Sie die Seite neu."
)
WORKING: Final = "Fotos werden vermessen und verglichen. Ein neues Foto braucht etwa eine Sekunde."

SEND_TITLE: Final = "Fotos senden"
SEND_CHOOSE: Final = "Fotos mit der Maßtafel auf den Stäben"
SEND_BY_NAME: Final = "nach den Dateinamen"
SEND_PHOTOS: Final = "Fotos senden"
SENDING: Final = "Die Originale werden aufbewahrt"
SENT_OF: Final = "{done} von {total} vermessen"
NOT_TAKEN: Final = "nicht angenommen; die übrigen Fotos gingen weiter"
PHOTO_COUNTS: Final = "zählt für {element}, Stelle {spot}"
PHOTO_VERDICT: Final = {
    "conforming": "was vermessen wurde, ist konform",
    "non_conforming": "etwas ist nicht konform",
    "inconclusive": "etwas ist nicht entschieden",
    "missing": "nichts wird danach beurteilt",
}
PHOTO_STATE: Final = {
    "counted": "vermessen, zählt",
    "superseded": "durch ein neueres Foto ersetzt",
    "refused": "nicht messbar: bitte neu aufnehmen",
    "unplaced": "vermessen, ohne Ort",
    "not counted": "aufbewahrt, zählt für keine Stelle",
    "damaged": "nicht mehr wie aufgenommen",
}
MEAN_OF: Final = "mittlerer Abstand {value} über {gaps} Felder"
PLACE: Final = "Dieses Foto zuordnen"
PLACE_SAID: Final = "Zuordnen"
BASIS: Final = {
    "said": "von einer Person gesagt",
    "file name": "laut Dateiname",
    "board": "laut Maßstabtafel im Bild",
    "none": "nicht gesagt",
}

TYPE_TITLE: Final = "Ablesungen eintippen"
TYPE_ADD: Final = "Diese Ablesung hinzufügen"
TYPE_FAULT: Final = "Nicht hinzugefügt"
TYPE_ASKED: Final = "Noch nicht hinzugefügt: bitte noch einmal hinsehen"
TYPE_CONFIRM: Final = "Sie stimmt so"
TYPE_CORRECT: Final = "Ich berichtige sie"
GAPS: Final = "Überspannte Felder"
GAP_NUMBER: Final = "Nummer des Feldes"
INSTRUMENT: Final = "Messmittel"
READING: Final = "Ablesung, mm"
READING_AGAIN: Final = "Zweite Ablesung, mm"
BARS: Final = "Gezählte Stäbe"
OVER_GAPS: Final = "über {count} Felder"
UNSENT: Final = "Getippt, noch nicht gesendet: {count}"
UNDO: Final = "Die letzte zurücknehmen"
SEND_READINGS: Final = "Ablesungen senden"

COVERAGE_WHAT: Final = {"spacing": "{layer} Abstände", "cover": "{layer} Betondeckung"}
INDICATIONS: Final = (
    "Stabgrößen, die Fotos andeuten und über die Messschieber oder Walzzeichen entscheiden: {count}."
)
MISSING_NOTHING: Final = "Jede verlangte Stelle ist vorhanden."
MISSING_AGAIN: Final = "Fotos, die neu aufzunehmen sind"
MISSING_UNPLACED: Final = "Fotos ohne Ort"
MISSING_UNPLACED_SAYS: Final = (
    "Sie sind vermessen, zählen aber für nichts, bis jemand sagt, wo sie aufgenommen wurden."
)
MISSING_QUESTIONS: Final = "Ablesungen, die noch einmal anzusehen sind"
OBSERVED: Final = "Was die Fotodateien über sich selbst sagen"
OBSERVED_SAYS: Final = "Beobachtungen, keine Urteile: was sie bedeuten, entscheidet ein Mensch."

FINDINGS_ALL: Final = "alle"
FINDINGS_SHOW: Final = "Zeigen"
FINDINGS_FILTER: Final = {
    "open": "zu klären",
    "non_conforming": "nicht konform",
    "indicated": "Größen angedeutet",
    "unmeasured": "nicht gemessen",
    "conforming": "konform",
    "all": "alle",
}
FINDINGS_MORE: Final = "Mehr zeigen ({count})"
FINDINGS_BEHIND: Final = "Woher das kommt"
FINDINGS_TAPE: Final = "Maßband neben Foto"
FINDINGS_ASIDE: Final = "Zu ungenau gesehen, um beurteilt zu werden"
BLOCKED: Final = "Kann so nicht bleiben"
CHAIN_FILE: Final = "Original"
CHAIN_PIXELS: Final = "Pixel des schlechtesten Werts"
CHAIN_ROW: Final = "Zeile"
CHAIN_METHOD: Final = "Verfahren"
SEE_PHOTO: Final = "Auf dem Foto ansehen"
FINDINGS_NONE: Final = "Hier gibt es nichts zu zeigen."
FINDINGS_ASKED: Final = "Verlangt"
FINDINGS_SOURCE: Final = "Woher die Grenze kommt"
FINDINGS_NEXT: Final = "Nächster Schritt"
FINDINGS_CHAIN: Final = "Zurück zu den Pixeln"
FINDINGS_CONSEQUENCE: Final = (
    "Was eine Abweichung bewirkt (Auskunft für den verantwortlichen Tragwerksplaner, nie eine Annahme)"
)
FINDINGS_UNMEASURED: Final = "Noch nichts gemessen."
PROBABILITY: Final = "Wahrscheinlichkeit der Konformität"

PHOTOS_NONE_TITLE: Final = "Noch kein Foto"
PHOTOS_NONE: Final = (
    "Senden Sie Fotos von der Seite mit dem, was zu tun ist, oder mit: verifier add FOLDER PHOTO..."
)
PHOTOS_BACK: Final = "Voriges Foto (Alt und Pfeil links)"
PHOTOS_ON: Final = "Nächstes Foto (Alt und Pfeil rechts)"
PHOTOS_WAY: Final = "Wie es gezeigt wird"
PHOTOS_WAYS: Final = {
    "measured": "was vermessen wurde",
    "taken": "wie aufgenommen",
    "above": "von oben, Raster 100 mm",
    "points": "darin messen",
    "remarks": "etwas dazu sagen",
}
PHOTOS_NO_PICTURE: Final = "Dieses Bild gibt es von diesem Foto nicht"
PHOTOS_FINDINGS: Final = "Befunde, die darauf beruhen"
BOARD: Final = "Maßtafel"
BOARD_SAYS: Final = "Nummer {number}, Neigung {tilt:.0f}°, {size:.2f} mm je Pixel"
TAKEN: Final = "Aufgenommen, laut Datei"
RECEIVED: Final = "Eingegangen"
POINTS_HOW: Final = "Berühren Sie das Foto an zwei Punkten. Ein Punkt lässt sich unter einer Lupe ziehen oder mit den Pfeiltasten bewegen."
POINTS_PLANE: Final = "Wo die Punkte liegen"
POINTS_PLANES: Final = {"upper": "Obere Stäbe", "lower": "Untere Stäbe", "board": "Fläche der Maßtafel"}
POINTS_NONE: Final = "Zwei Punkte geben eine Strecke."
POINTS_WORKING: Final = "Wird gemessen"
POINTS_REFUSED: Final = "Hier gibt es keine Strecke"
POINTS_SAYS: Final = "Strecke in der gewählten Ebene, mit ihrem Vertrauensbereich von 95 %."
POINTS_WORDS: Final = {
    "smaller": "Kleiner",
    "larger": "Größer",
    "clear": "Punkte löschen",
    "point": "Punkt",
    "keys": "Foto. Die Eingabetaste setzt einen Punkt in die Mitte, die Pfeiltasten bewegen ihn.",
}
PHOTOS_PICK: Final = "Foto"
PHOTOS_SUPERSEDED: Final = (
    "Ein neueres Foto dieser Stelle ist an seine Stelle getreten; seine Werte bleiben in der Akte."
)
PHOTOS_FINGERPRINT: Final = "SHA-256 der Datei, wie eingegangen"

REVIEW_SAY: Final = "Etwas dazu sagen"
REVIEW_TITLE: Final = "In der Prüfung gesagt"
REMARK_HOW: Final = (
    "Berühren Sie das Foto dort, wo Sie es meinen. Ohne Punkt gelten Ihre Worte dem ganzen Foto."
)
REVIEW_WHAT: Final = {
    "remark": "eine Bemerkung",
    "return": "zurückgeben",
    "spot": "eine weitere Stelle verlangen",
}
REVIEW_ACT: Final = {"remark": "Bemerken", "return": "Zurückgeben", "spot": "Verlangen"}
REVIEW_TEXT: Final = "Ihre Worte"
REVIEW_SPOT: Final = "Name der weiteren Stelle"
REVIEW_PASSPHRASE: Final = "Passphrase Ihres eigenen Schlüssels"
REVIEW_PASSPHRASE_SAYS: Final = (
    "Sie öffnet Ihren Schlüssel für diese eine Unterschrift und wird nirgends aufbewahrt."
)
REVIEW_NEEDS_WORDS: Final = "Schreiben Sie zuerst, was Sie meinen."
REVIEW_NEEDS_SPOT: Final = "Nennen Sie zuerst die Stelle."
REVIEW_NEEDS_ELEMENT: Final = "Dieses Foto hat noch keinen Ort: eine weitere Stelle braucht ihr Bauteil."
REVIEW_NEEDS_RECORD: Final = "Dieses Foto ist noch nicht in der Akte; fügen Sie es dort zuerst hinzu."
REVIEW_DONE: Final = "Es steht in der Akte."
REVIEW_REFUSED: Final = "Nicht aufgenommen"
REVIEW_NO_KEY: Final = "Auf diesem Rechner liegt kein Schlüssel von {person}. Die Ansicht mit dem Entscheid legt einen an, oder: verifier enrol FOLDER."
REVIEW_NOBODY: Final = "Niemand dieses Abschnitts darf das."
REVIEW_KIND: Final = {
    "remark": "Bemerkung",
    "return": "zurückgegeben",
    "lifted": "aufgehoben",
    "spot.ask": "weitere Stelle verlangt",
    "spot.waive": "auf eine Stelle verzichtet",
    "measurement.own": "selbst gemessen",
}
REVIEW_OWN_KEY: Final = "eigener Schlüssel"
REVIEW_CLAIMED: Final = "behauptet, von einem Gerät unterzeichnet"
REVIEW_ANSWER: Final = "Antworten"
REVIEW_LIFT: Final = "Aufheben"
REVIEW_RECORD: Final = "Eintrag {seq}"
OWN_WHAT: Final = "Was Sie gemessen haben"
OWN_KEEP: Final = "Als meine Messung in die Akte"
OWN_NEEDS_WORDS: Final = "Sagen Sie zuerst, was diese Strecke ist."

DECISION_REASONS: Final = "Was das Betonieren aufhält, das Schwerste zuerst"
DECISION_CONDITIONS: Final = "Bedingungen, vor dem Beton zu erfüllen"
DECISION_CAUTIONS: Final = "Hinweise zur Vorsicht"
DECISION_CLEARS: Final = "Behebt es"
DECISION_OWNER: Final = "Wer"
DECISION_STANDS: Final = "Worauf diese Antwort beruht"
DECISION_AT: Final = "Geprüft um"
DECISION_DRAWING: Final = "SHA-256 von pour.toml"
DECISION_EOR: Final = "Verantwortlicher Tragwerksplaner"
DECISION_EOR_NONE: Final = "nicht genannt"
DECISION_UNTIL: Final = "Diese Antwort verfällt um"
DECISION_LAPSES: Final = "Sie verfällt früher, wenn"
STANDING_CAUTION: Final = (
    "Die Betondeckung wird mit Maßband oder Messgerät gemessen, nie aus einem Foto gelesen. Was kein Foto zeigt - Stahlsorte, "
    "abgewandte Seiten, verdeckte Stäbe - muss ein Mensch sehen."
)

TIMELINE_NONE: Final = "Es gibt noch keine Akte"
TIMELINE_NONE_SAYS: Final = "Sie beginnt mit dem ersten Foto oder der ersten Ablesung."
TIMELINE_SAYS: Final = (
    "Alles, was die Akte enthält, in der Reihenfolge des Eingangs. Zeiten sind die der Uhr des unterzeichnenden Geräts; "
    "neben jedem Namen steht, woher er bekannt ist."
)
TIMELINE_ONLY: Final = "Zeigen"
ORIGINAL: Final = "Original"
TABLES: Final = "Tabellen für die Tabellenkalkulation"
BUNDLE: Final = "Versiegeltes Bündel für Dritte"
SHEET_FINDINGS: Final = "Befunde"
SHEET_MEASUREMENTS: Final = "Messungen"
SHEET_COVERAGE: Final = "Abdeckung"
SHEET_REASONS: Final = "Gründe"
COLUMNS_FINDINGS: Final = (
    "Bauteil",
    "Lage",
    "Stelle",
    "verlangt",
    "Urteil",
    "Wahrscheinlichkeit, untere",
    "Wahrscheinlichkeit, obere",
    "untere Grenze",
    "obere Grenze",
    "Planwert",
    "schlechtester Wert",
    "erweiterte Unsicherheit (95 %)",
    "Einheit",
    "Werte",
    "woher die Grenze kommt",
    "nächster Schritt",
)
COLUMNS_MEASUREMENTS: Final = (
    "Bauteil",
    "Lage",
    "Stelle",
    "was",
    "Nummer des Feldes",
    "Wert",
    "erweiterte Unsicherheit (95 %)",
    "Einheit",
    "womit",
    "Person",
    "aufgenommen",
    "Original",
    "SHA-256",
)
COLUMNS_COVERAGE: Final = (
    "Bauteil",
    "Lage",
    "was",
    "verlangt",
    "vorhanden",
    "fehlt",
    "verlangt von",
)
COLUMNS_REASONS: Final = ("Gewicht", "was so ist", "was es behebt", "wer")
WEIGHT: Final = {"stops": "hält das Betonieren auf", "condition": "Bedingung", "caution": "Vorsicht"}

PLAN_TITLE: Final = "Plan der Betonage"
PLAN_ALT: Final = "Die Betonage von oben, maßstäblich."
PLAN_ELEMENT: Final = "{element}, ganzes Bauteil"
PLAN_SPOT: Final = "{element}, Stelle {spot}: {says}"
PLAN_SIGNS: Final = "Kamera: dort wurde fotografiert. Band: dort wurde gemessen. Schraffiert: steht noch aus. Eine Stelle antippen, um sie zu sehen. Stellen ohne eigenen Ort auf dem Plan liegen in der Reihenfolge ihrer Nummern."
PLAN_UNDRAWN: Final = "Nicht auf dem Plan, weil die Planwerte keine Länge angeben:"
PLAN_COVER: Final = "Deckung"
PLAN_WHOLE: Final = "Ganze Betonage"
PLACE_NOTHING: Final = "Hier ist nichts offen."
PLACE_DONE_BY: Final = "Hier aufgenommen"
PLACE_GO: Final = "Zu {place}"
PLACE_SPOT: Final = "{element}, Stelle {spot}"
NEXT_TITLE: Final = "Was als Nächstes kommt"
NEXT_MORE: Final = "Alles Weitere, was offen ist ({count})"
NEXT_NOTHING: Final = "Auf der Decke ist nichts mehr zu tun."
NEXT_STOPS: Final = "hält die Betonage auf"
NEXT_CONDITION: Final = "vor dem Beton zu erfüllen"
BY_LAYER: Final = "Bauteil für Bauteil, Lage für Lage"
PLACE_MORE: Final = "und {count} weitere"

POURS_TITLE: Final = "Betonierabschnitte"
POURS_NONE: Final = "Hier ist kein Betonierabschnitt der Ihre"
POURS_NONE_SAYS: Final = "Ihr Name muss in den Planwerten des Betonierabschnitts unter [people] stehen."
POURS_OTHERS: Final = "Betonierabschnitte anderer Leute in diesem Ordner: {count}."
POURS_START: Final = "Geplanter Beginn"
POURS_WORST: Final = "Schlechtester Befund"
POURS_WAITS: Final = "Wartet auf"
POURS_NOBODY: Final = "niemanden"
POURS_NEWEST: Final = "Neuester Nachweis"
POURS_NO_EVIDENCE: Final = "noch keiner in der Akte"
POURS_OPEN: Final = "Diesen Betonierabschnitt öffnen"
LOG_IN: Final = "Anmelden"
LOG_IN_SAYS: Final = "Was Sie hier tun, steht unter Ihrem Namen."
LOG_IN_NAME: Final = "Name"
LOG_IN_PASSPHRASE: Final = "Passphrase"
LOG_IN_WRONG: Final = (
    "Name und Passphrase gehören nicht zusammen. Bitte noch einmal; sonst ist nichts geschehen."
)
LOG_IN_WAIT: Final = "Zu viele falsche Versuche mit diesem Namen. Der nächste zählt um {when}."
LOG_IN_ELSEWHERE_SENT: Final = "Das kam von einer anderen Seite. Bitte hier anmelden."
LOG_OUT: Final = "Abmelden"
LOGGED_IN: Final = "Angemeldet"
VISIT_OVER: Final = "Sie sind nicht mehr angemeldet"
VISIT_OVER_TODO: Final = "Bitte neu anmelden. Was Sie gesendet haben, steht in der Akte."
VISIT_IDLE: Final = "Noch Sie?"
VISIT_IDLE_SAYS: Final = "Hier ist eine Weile nichts geschehen. Was Sie getippt haben, ist aufgehoben."
GO_ON: Final = "Weiter"
NOT_YOU: Final = "Noch nicht"
NOT_LINKED: Final = "Mit dieser Anmeldung ist hier niemand verbunden"
NOT_LINKED_SAYS: Final = "Wer diese Seite betreibt, verbindet sie einmal: verifier account link FOLDER --person NAME --identity IDENTITY"
NO_LOG_IN: Final = "Auf dieser Seite meldet sich niemand an: Sie ist nur auf diesem Rechner offen, und Namen sind wie gewählt. Konten entstehen mit: verifier account add FOLDER --person NAME"
SEND_COUNT: Final = "Fotos senden ({count})"
SENT_ALL: Final = "Alle {count} beantwortet"
SENT_CLEAR: Final = "Liste leeren"
SEND_HELD: Final = "noch nicht in der Akte; es bleibt hier aufgehoben"
SEND_AGAIN: Final = "Diese noch einmal versuchen"
LEFT_SECONDS: Final = "noch etwa {count} s"
LEFT_MINUTES: Final = "noch etwa {count} min"
WHERE_TAKEN: Final = "Wo wurde das aufgenommen?"
WHERE_ELSE: Final = "Anderswo"
AGAIN_MORE: Final = "Weitere davon ({count})"

KEY_DONE: Final = "Ihr Schlüssel"
KEY_YOURS: Final = "Ihr Schlüssel in dieser Akte"
KEY_PASSPHRASE: Final = "Passphrase Ihres Schlüssels"
KEY_AGAIN: Final = "Noch einmal dieselbe"
KEY_ACCOUNT: Final = "Passphrase Ihres Kontos"
KEY_NONE: Final = "Sie haben noch keinen Schlüssel in dieser Akte"
KEY_NONE_SAYS: Final = "Was Sie unterschreiben, unterschreiben Sie mit einem eigenen Schlüssel. Er entsteht hier unter einer Passphrase, die nur Sie kennen und die niemand wiederfindet."
KEY_THERE_SAYS: Final = (
    "Ihr Schlüssel aus einem anderen Abschnitt ist hier. Seine Passphrase macht ihn auch dieser Akte bekannt."
)
KEY_MAKE: Final = "Meinen Schlüssel machen"
KEY_USE: Final = "Meinen Schlüssel hier bekannt machen"
KEY_NOT_MADE: Final = "Kein Schlüssel wurde eingetragen"
KEY_DIFFER: Final = "Die beiden Passphrasen sind verschieden. Bitte beide neu tippen."
KEY_ENROLLED: Final = "Er steht in der Akte: Sie können unterschreiben."
KEY_ASKED: Final = "Ihr Schlüssel wartet auf jemanden, der Sie einführt"
KEY_ASKED_SAYS: Final = "Jemand mit einem Schlüssel in dieser Akte öffnet diese Ansicht und vergleicht mit Ihnen das Kennzeichen Ihres Schlüssels, mündlich."
KEY_ROLES: Final = "Möchte unterschreiben als"
KEY_MARK: Final = "Kennzeichen des Schlüssels"
KEY_COMPARE: Final = "Lassen Sie sich das Kennzeichen vorlesen, bevor Sie unterschreiben."
KEY_INTRODUCE: Final = "Diese Person einführen"
KEY_INTRODUCED: Final = "Die Person steht in der Akte und kann unterschreiben."
ROLE: Final = {
    "site_engineer": "Bauleitung",
    "quality_engineer": "Qualitätssicherung",
    "reviewer": "Prüfung",
    "engineer_of_record": "verantwortliche Tragwerksplanung",
    "reader": "Einsicht",
}
DECIDE: Final = "Entscheiden"
DECIDE_WHO: Final = "Über diesen Abschnitt entscheiden"
DECIDE_WAYS: Final = {"release": "freigeben", "refuse": "verweigern", "accept": "eine Abweichung hinnehmen"}
SIGNED: Final = "Unterschrieben"
NOT_SIGNED: Final = "Nichts wurde unterschrieben"
REASON_NEEDED: Final = "Es braucht eine schriftliche Begründung."
ACCEPT_SAYS: Final = "Was Sie hinnehmen, wird zur Bedingung mit den Worten unten. Es gilt nur für genau diese Werte und diesen Plan."
ACCEPT_WHY: Final = "Warum es so bleiben darf (leer: nicht hingenommen)"
ACCEPT_SIGN: Final = "Das Hingenommene unterschreiben"
ACCEPTED: Final = "Die Hinnahme steht in der Akte."
REFUSE_WHY: Final = "Warum verweigert wird, und was das ändern würde"
REFUSE_SIGN: Final = "Verweigern und unterschreiben"
REFUSED: Final = "Die Verweigerung steht in der Akte."
RELEASE_NOT: Final = "Sie können diesen Abschnitt nicht freigeben"
RELEASE_STOPPED: Final = "Gründe, die das Betonieren aufhalten: {stops}. Jeder sagt, was ihn ausräumt; bis dahin gibt es keine Freigabe."
HEAD_SAYS: Final = "Eine Freigabe braucht einen Kopf der Akte, den Sie außerhalb aufheben, damit eine umgeschriebene Akte auffällt. Tippen Sie einen, den Sie früher aufgehoben haben. Sehen Sie die Akte zum ersten Mal, so schreiben Sie zuerst den jetzigen ab: auf Papier, oder als Bild seines Codes."
HEAD_NOW: Final = "Jetziger Kopf"
HEAD_CODE: Final = "Der Kopf als Code und als Datei"
HEAD_CODE_SAYS: Final = "Code mit dem unterschriebenen Kopf dieser Akte"
HEAD_FILE: Final = "Der Kopf als Datei"
HEAD_KEPT: Final = "Der Kopf, den Sie aufheben"
RELEASE_READ: Final = "Lesen, was eine Freigabe sagen würde"
RELEASE_TEXT: Final = "Lesen Sie dies. Es ist Wort für Wort, was Sie unterschreiben."
RELEASE_ANEW: Final = "Noch einmal prüfen und neu schreiben"
RELEASE_CHANGED: Final = "Der Abschnitt hat sich geändert, seit dieser Text geschrieben wurde."
RELEASE_SIGN: Final = "Freigeben und unterschreiben"
RELEASED: Final = "Die Freigabe steht in der Akte. Heben Sie den neuen Kopf unten außerhalb auf."
RELEASE_DOCUMENT: Final = "Freigabedokument (PDF)"
SIGN_WHERE: Final = "Wo Sie unterschreiben"
SIGN_WHERES: Final = {"here": "auf dieser Seite", "away": "auf meinem eigenen Rechner"}
SIGN_AWAY_SAYS: Final = "Ihr privater Schlüssel bleibt auf Ihrem Rechner. Laden Sie den Text herunter, unterschreiben Sie ihn dort, und bringen Sie die kleine Datei, die dabei entsteht:"
SIGN_AWAY_TEXT: Final = "Den Text herunterladen"
SIGN_AWAY_FILE: Final = "release.txt.sig"
SIGN_AWAY_SEND: Final = "Die Unterschrift abgeben"
DECIDED: Final = "Bisher entschieden"
DECIDED_KIND: Final = {
    "acceptance": "Abweichung hingenommen",
    "refusal": "Verweigert",
    "release": "Freigegeben",
}
DECIDED_RECORD: Final = (
    "Eintrag {seq}; Einträge seither: {later}. Es gilt nur für das, was damals in der Akte stand."
)
