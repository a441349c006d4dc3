"""Every sentence that the page itself says, in German."""

from __future__ import annotations

from typing import Final

TITLE: Final = "Vor dem Betonieren"
LANGUAGE: Final = "Sprache"
LANGUAGE_NAME: Final = "Deutsch"
NAV: Final = {
    "pours": "Abschnitte",
    "missing": "Zu tun",
    "rounds": "Rundgänge",
    "findings": "Befunde",
    "photos": "Fotos",
    "decision": "Entscheid",
    "concrete": "Beton",
    "pour_log": "Protokoll",
    "closing": "Abschluss",
    "timeline": "Akte",
}
PLANNED: Final = "Geplanter Beginn {when} · {code}"
PLANNED_PASSED: Final = "Stand {now}: Der geplante Beginn ist vorbei; Rundgänge, Bestellung und Freigabe jenes Tages verfallen mit der Uhr."
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
    "clear-distance": "Achsabstand für den lichten Abstand",
    "least-steel": "Mittlerer Abstand für die Mindestbewehrung",
    "diameter": "Stabdurchmesser",
    "cover": "Betondeckung",
    "lap": "Übergreifungslänge",
    "bar-count": "Anzahl der Stäbe",
    "block-pitch": "Abstand der Abstandhalter",
    "chair-pitch": "Abstand der Unterstützungskörbe",
    "edge-distance": "Abstand zum Rand",
}
LIMITS_BETWEEN: Final = "{low} bis {high}"
LIMITS_MOST: Final = "höchstens {high}"
LIMITS_LEAST: Final = "mindestens {low}"
LIMITS_NONE: Final = "keine Grenze"
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
SEND_BY_NAME: Final = "laut Name"
SPOT_CHOOSE: Final = "Wählen, tippen"
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
MEAN_OF: Final = "mittlerer Abstand {value} (Felder: {gaps})"
PLACE: Final = "Dieses Foto zuordnen"
PLACE_SAID: Final = "Ort"
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
KEYPAD: Final = {"back": "Letzte Ziffer löschen", "point": "Komma", "sign": "Plus oder minus"}
GAPS: Final = "Überspannte Felder"
GAP_NUMBER: Final = "Nummer des Feldes"
INSTRUMENT: Final = "Messmittel"
READING: Final = "Ablesung, mm"
READING_AGAIN: Final = "Zweite Ablesung, mm"
BARS: Final = "Gezählte Stäbe"
OVER_GAPS: Final = "(Felder: {count})"
UNSENT: Final = "Getippt, noch nicht gesendet: {count}"
UNDO: Final = "Die letzte zurücknehmen"
SEND_READINGS: Final = "Ablesungen senden"

COVERAGE_WHAT: Final = {"spacing": "Abstände {layer}", "cover": "Betondeckung {layer}"}
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

ROUNDS_NONE: Final = "Für diese Betonage ist kein Rundgang vorgesehen"
ROUND: Final = "Rundgang"
ROUND_NUMBER: Final = "Rundgang {number}"
ROUND_WALKED_BY: Final = "Gegangen von: {roles}"
ROUND_PROGRESS: Final = "Punkte, die stehen: {there} von {total} · Mängel: {defects}"
ROUND_PARTS: Final = "Teil der Arbeit"
ROUND_PART: Final = "{part} ({count})"
ROUND_DEFECTS: Final = "Mängel ({count})"
ROUND_GROUP: Final = {
    "formwork": "Schalung",
    "reinforcement": "Bewehrung",
    "embedded services and openings": "Einbauten, Öffnungen",
    "general": "Allgemeines",
    "readiness": "Bereitschaft",
}
ROUND_PART_EMPTY: Final = "Hier ist nichts."
ROUND_ITEM: Final = "Punkt"
ROUND_BACK: Final = "Punkt davor"
ROUND_ON: Final = "Nächster Punkt"
ROUND_ALL: Final = "Alle Punkte dieses Teils ({count})"
ROUND_STANDS: Final = {
    "stands": "steht",
    "not looked at": "nicht angesehen",
    "defect": "Mangel",
    "waits": "offen",
}
ROUND_LIMIT: Final = "Verlangt"
ROUND_POINT: Final = {
    "hold": "Haltepunkt, schriftlich freigegeben von",
    "witness": "Zeugenpunkt, geschlossen von",
    "none": "Geschlossen von",
}
ROUND_WHY: Final = "Warum, und wie man hinsieht"
ROUND_WHY_SAYS: Final = "Warum"
ROUND_HOW: Final = "Wie"
ROUND_CLOSES: Final = "Wer schließt"
ROUND_DISAGREEMENT: Final = "Quellen widersprechen sich"
ROUND_BY: Final = "Für: {roles}"
ROUND_NOT_BY: Final = "Nicht durch: {names}"
ROUND_SAID: Final = "Vorher gesagt ({count})"
ROUND_WITH: Final = "Dateien: {count}"
ROUND_WORD: Final = {
    "not looked at": "nicht angesehen",
    "conforming": "entspricht",
    "not conforming": "entspricht nicht",
    "cannot tell": "nicht zu sagen",
    "does not apply": "trifft nicht zu",
    "put right": "in Ordnung gebracht",
    "decided by engineer": "vom Ingenieur entschieden",
}
ROUND_SAY: Final = {
    "conforming": "Ja, entspricht",
    "not conforming": "Nein",
    "cannot tell": "Nicht zu sagen",
    "does not apply": "Trifft nicht zu",
    "put right": "In Ordnung gebracht",
}
ROUND_PLACE: Final = "Ort"
ROUND_WHOLE: Final = "ganze Betonage"
ROUND_VALUE: Final = "Gemessen, {unit}"
ROUND_PLANNED: Final = "Im Plan, {unit}"
ROUND_ON_DRAWING: Final = "im Plan {value}"
ROUND_TAKE: Final = "Diesen Wert behalten"
ROUND_LOW: Final = "Mindestens, {unit}"
ROUND_HIGH: Final = "Höchstens, {unit}"
ROUND_LIMIT_SOURCE: Final = "Woher diese Grenze kommt"
ROUND_PHOTO: Final = "Foto der Stelle"
ROUND_DOCUMENT: Final = "Unterlage"
ROUND_FILE_KEPT: Final = "aufgehoben; kommt mit der Antwort in die Akte"
ROUND_FILES_DROP: Final = "Diese Dateien zurücknehmen"
ROUND_REMARK: Final = "Bemerkung oder Grund"
ROUND_NEEDS_PHOTO: Final = "nach einer Ausbesserung wird ein neues Foto der Stelle verlangt"
ROUND_NOT_YET: Final = "Noch nicht in der Akte"
ROUND_RECORDED: Final = "In der Akte"
ROUND_STILL: Final = "Noch offen: {why} (für: {roles})"
HOLDS: Final = "Haltepunkte, nicht freigegeben"
HOLD_BY: Final = "für: {role}; {why}"
HOLD_RELEASE: Final = "Diesen Haltepunkt freigeben"
WITNESSES: Final = "Zeugenpunkte ({count})"
WITNESS_SAYS: Final = {
    "not told": "niemand benachrichtigt",
    "told too late": "zu spät benachrichtigt",
    "told, time to come": "benachrichtigt, Termin steht bevor",
    "attendance not written": "kam jemand?",
    "attended": "war da",
    "invited, did not attend": "eingeladen, nicht gekommen",
}
WITNESS_WHO: Final = "Wer benachrichtigt wurde"
WITNESS_DAY: Final = "Für welchen Tag"
WITNESS_TIME: Final = "Zu welcher Uhrzeit"
WITNESS_KEEP: Final = "Wurde benachrichtigt"
WITNESS_CAME: Final = "War da"
WITNESS_ABSENT: Final = "Kam nicht"
SIGN_ROUND: Final = "Diesen Rundgang unterschreiben"
SIGNED_BY: Final = "Unterschrieben von {person}"
ROUND_SIGN_SAYS: Final = "Die Unterschrift sagt: {says}"
ROUND_SIGN_OPEN: Final = "Punkte noch offen: {count}"
HAPPENED: Final = "Mit der Arbeit ist etwas geschehen"
HAPPENED_WHAT: Final = "Was"
HAPPENED_TRADE: Final = "Gewerk, das auf der Decke war"
HAPPENED_KEEP: Final = "In die Akte schreiben"
HAPPENED_OPENED: Final = "Dadurch wieder offen: {count}"
HAPPENING: Final = {
    "neighbours_moved": "Benachbartes wurde bewegt",
    "late_start": "der Beginn ist spät",
    "very_late_start": "der Beginn ist sehr spät",
    "rain": "Regen",
    "wind": "Wind",
    "heat": "Hitze",
    "frost": "Frost",
    "other_trade": "ein anderes Gewerk war auf der Decke",
    "new_revision": "neuer Planstand",
    "prop_moved": "eine Stütze wurde bewegt",
    "impact": "etwas stieß an die Schalung",
    "other_supply": "Beton von anderswo",
    "pour_stopped": "die Betonage wurde unterbrochen",
}

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
FINDINGS_TAPE: Final = "Maßband neben Foto"
FINDINGS_ASIDE: Final = "Zu ungenau gesehen, um beurteilt zu werden"
BLOCKED: Final = "Kann so nicht bleiben"
CHAIN_FILE: Final = "Original"
CHAIN_PIXELS: Final = "Pixel des schlechtesten Werts"
CHAIN_ROW: Final = "Zeile"
CHAIN_METHOD: Final = "Verfahren"
SEE_PHOTO: Final = "Auf dem Foto ansehen"
FINDINGS_NONE: Final = "Hier gibt es nichts zu zeigen."
FINDINGS_OPEN: Final = "Befund öffnen"
FINDINGS_DRAWN: Final = "Wert im Plan"
FINDINGS_BACK: Final = "Voriger Befund (Alt und Pfeil links)"
FINDINGS_ON: Final = "Nächster Befund (Alt und Pfeil rechts)"
FINDINGS_TO_ALL: Final = "Alle Befunde"
FINDINGS_CHOICE: Final = "Welche Befunde, in welcher Reihenfolge"
FINDINGS_ORDER: Final = "Reihenfolge"
FINDINGS_ORDERS: Final = {"worst": "schwerste zuerst", "place": "nach Ort"}
FINDINGS_NO_PHOTO: Final = "Zu diesem Befund gehört kein Foto"
FINDINGS_NO_PHOTO_SAYS: Final = "Er stützt sich auf Ablesungen, oder es ist noch nichts gemessen."
GAP_POINT: Final = "Einen Wert im Foto zeigen"
GAP_NONE: Final = "keinen"
MEASURE_THERE: Final = "Darin messen"
TAPE_BESIDE: Final = "Bandmaß {tape}, Foto {photo}: E_n = {e_n}, {agrees}"
TAPE_AGREES: Final = "sie stimmen überein"
TAPE_CONTRADICTS: Final = "sie widersprechen sich, auf keines ist Verlass"
FINDINGS_ASKED: Final = "Verlangt"
FINDINGS_SOURCE: Final = "Woher die Grenze kommt"
FINDINGS_NEXT: Final = "Nächster Schritt"
FINDINGS_CHAIN: Final = "Zurück zu den Pixeln"
FINDINGS_CONSEQUENCE: Final = (
    "Was eine Abweichung bewirkt (Auskunft für den verantwortlichen Tragwerksplaner, nie eine Annahme)"
)
FINDINGS_UNMEASURED: Final = "Noch nichts gemessen."
PROBABILITY_BETWEEN: Final = "{low} bis {high}"
PROBABILITY_UNDER: Final = "unter 0.1 %"
PROBABILITY_OVER: Final = "über 99.9 %"
PROBABILITY: Final = "Wahrscheinlichkeit der Konformität"

PHOTOS_NONE_TITLE: Final = "Noch kein Foto"
PHOTOS_NONE: Final = "Senden Sie Fotos von der Seite mit dem, was zu tun ist."
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
REVIEW_PASSPHRASE_SAYS: Final = (
    "Sie öffnet Ihren Schlüssel für diese eine Unterschrift und wird nirgends aufbewahrt."
)
REVIEW_NEEDS_WORDS: Final = "Schreiben Sie zuerst, was Sie meinen."
REVIEW_NEEDS_SPOT: Final = "Nennen Sie zuerst die Stelle."
REVIEW_NEEDS_ELEMENT: Final = "Dieses Foto hat noch keinen Ort: eine weitere Stelle braucht ihr Bauteil."
REVIEW_NEEDS_RECORD: Final = "Dieses Foto ist noch nicht in der Akte; fügen Sie es dort zuerst hinzu."
REVIEW_DONE: Final = "Es steht in der Akte."
REVIEW_REFUSED: Final = "Nicht aufgenommen"
REVIEW_NO_KEY: Final = (
    "Auf diesem Rechner liegt kein Schlüssel von {person}. Die Ansicht mit dem Entscheid legt einen an."
)
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
TIMELINE_NOTHING: Final = "Nichts passt zu dieser Auswahl"
TIMELINE_ONLY: Final = "Art"
RECORD_PART: Final = "Teil der Akte"
RECORD_PARTS: Final = {
    "originals": "Originale",
    "story": "Was geschah",
    "proven": "Was belegt ist",
    "changed": "Was sich änderte",
    "take": "Mitnehmen",
}
RECORD_SIZE: Final = "Einträge"
RECORD_HEAD: Final = "Kopf, Kurzform"
RECORD_BOUNDED: Final = "Fotos mit beidseitig begrenzter Zeit"
RECORD_PERSON: Final = "Person"
BARS_SAYS: Final = (
    "Der Balken ist, was die Akte belegt: Ein Foto ist nicht älter als eine ausgegebene Tafel, die es zeigt, und nicht jünger "
    "als sein Eintrag. Was eine Datei von ihrer eigenen Zeit behauptet, steht als Zeichen darauf; das kann jeder hineinschreiben."
)
BARS_KEY: Final = {
    "stamp": "Zeitstempel einer Stelle",
    "unvouched": "Zeitstempel einer Stelle, für die hier niemand bürgt",
    "clock": "Uhr eines Geräts",
    "none": "auf dieser Seite begrenzt nichts",
    "camera": "Uhr der Kamera behauptet",
    "GPS": "GPS behauptet",
    "doubted": "eine Behauptung, gegen die etwas spricht",
}
BARS_MORE: Final = "Weitere Fotos, hier nicht gezeichnet: {count}. Wählen Sie ein Bauteil, um sie zu sehen."
BRACKET_FROM: Final = "Nicht vor"
BRACKET_TO: Final = "Nicht nach"
BRACKET_NONE: Final = "nicht begrenzt"
BOUND_FROM: Final = {
    "none": "keine aus dieser Akte ausgegebene Tafel ist darauf zu sehen",
    "stamp": "die Tafel darauf entstand nach diesem Zeitstempel",
    "unvouched": "die Tafel darauf entstand nach diesem Zeitstempel einer Stelle, für die hier niemand bürgt",
    "clock": "die Tafel darauf entstand danach, nach der Uhr eines Geräts",
}
BOUND_TO: Final = {
    "none": "nichts",
    "stamp": "Zeitstempel über seinem Eintrag",
    "unvouched": "Zeitstempel über seinem Eintrag, von einer Stelle, für die hier niemand bürgt",
    "clock": "Eingang, nach der Uhr eines Geräts",
}
CLAIM: Final = {
    "camera clock": "Uhr der Kamera",
    "GPS time": "GPS-Zeit",
    "GPS position": "GPS-Ort",
    "camera": "Kamera",
}
CLAIM_FITS: Final = {
    "fits": "behauptet; nichts spricht dagegen",
    "doubtful": "behauptet; zweifelhaft",
    "contradicts": "behauptet; widerspricht den Grenzen",
    "not checked": "behauptet; nicht prüfbar",
}
ORIGINAL_PLACE: Final = "Ort"
ORIGINAL_PLACE_NONE: Final = "nicht gesagt"
ORIGINAL_RECORD: Final = "Eintrag"
ORIGINAL_FROM: Final = "{seq}, gesendet von {person}"
ORIGINAL_REMARKS: Final = "An der Datei gesehen"
ORIGINAL_GONE: Final = "Ihre Bytes sind nicht mehr da, wurden verändert oder sind kein Bild."
ORIGINAL_TAKE: Final = "Dieses Foto mitnehmen"
ORIGINALS_NONE: Final = "Kein Foto passt zu dieser Auswahl"
ORIGINALS_NONE_SAYS: Final = "Wählen Sie ein anderes Bauteil oder eine andere Person."
TAKE_ORIGINAL: Final = "Original wie erhalten"
TAKE_PROOF: Final = "Nachweis seines Eintrags"
TAKE_PHOTO: Final = "Bündel nur dieses Fotos"
TAKE_WHOLE_TITLE: Final = "Die ganze Akte"
TAKE_WHOLE_SAYS: Final = (
    "Das versiegelte Bündel enthält alle Originale, das Verzeichnis der Einträge, Schlüssel, Nachweise und einen Text mit "
    "Befehlen, mit denen es jeder ohne dieses Programm prüfen kann. Bewahren Sie seinen Kopf anderswo auf."
)
TAKE_STORY: Final = "Die Geschichte als PDF"
TAKE_STORY_SAYS: Final = "Zum Lesen ohne Netz: jedes Foto mit seinen Grenzen, was geschah, was belegt ist und was nicht. In englischer Sprache."
TAKE_PART_TITLE: Final = "Ein Teil, unter demselben Kopf"
TAKE_PART_SAYS: Final = (
    "Für jemanden, der nur ein Bauteil oder ein Foto sehen darf. Der Teil sagt, was er nicht enthält, und lässt sich dennoch "
    "gegen den Kopf des Ganzen prüfen. Eine Datei mit Ablesungen wird ganz gezeigt, auch wo sie andere Bauteile nennt."
)
TAKE_ELEMENT: Final = "Bündel dieses Bauteils"
TAKE_CHOOSE_ELEMENT: Final = "Welches Bauteil"
TAKE_CHOOSE_PHOTO: Final = "Welches Foto"
TAKE_PROOF_TITLE: Final = "Der Nachweis eines Eintrags"
TAKE_PROOF_SAYS: Final = (
    "Er führt von der Zeile des Eintrags zum unterzeichneten Kopf und verrät von keinem Eintrag etwas; wer Zeile und Kopf hat, "
    "kann ihn prüfen (RFC 9162)."
)
TAKE_CHOOSE_RECORD: Final = "Nummer des Eintrags"
TAKE_PROOF_ONE: Final = "Nachweis dieses Eintrags"
PROVEN_SAYS: Final = (
    "Jede Frage hat ihre eigene Antwort; eine Summe gibt es nicht. Die Akte wurde eben versiegelt und aus ihren Bytes geprüft, "
    "vom selben Programmteil, der in jedem Bündel liegt. Dort stehen seine Sätze auf Englisch."
)
PROVEN_JOINS: Final = (
    "Dieses Gerät ist der Akte noch nicht beigetreten. Zum Prüfen wird sie versiegelt, und dafür tritt das Gerät bei: ein "
    "Eintrag mehr, den der Verlauf zeigt."
)
PROVEN_START: Final = "Jetzt alles prüfen"
PROVEN_HELD: Final = "Ein außerhalb verwahrter Kopf, in Kurzform"
PROVEN_HELD_HELP: Final = "Wie im Baubüro ausgedruckt oder vom Prüfer verwahrt, etwa 41-ABCD-EFGH-IJKL-MNOP."
PROVEN_LIMITS: Final = "Was keine Akte belegen kann"
PROVEN_AGAIN: Final = "Die Originale noch einmal zu messen dauert länger und geschieht am Bündel: verifier audit BUNDLE --replay"
FACT_STATE: Final = {"holds": "trifft zu", "does not hold": "trifft nicht zu", "not proven": "nicht belegt"}
FACT_GROUPS: Final = {
    "bytes": "Sind die Bytes unversehrt?",
    "signatures": "Sind die Unterschriften echt?",
    "persons": "Waren die Personen befugt?",
    "order": "Ist die Reihenfolge gewahrt?",
    "times": "Zwischen welchen Zeiten?",
    "approvals": "Binden die Freigaben, was sie behaupten?",
    "outside": "Ist es die Geschichte, die andere sahen?",
}
FACT_TOPIC: Final = {
    "container": "Behälter",
    "bytes intact": "Bytes unversehrt",
    "listing": "Auflistung",
    "originals": "Originale",
    "copies": "Abschriften für andere Werkzeuge",
    "derived pictures": "abgeleitete Bilder",
    "records": "Einträge",
    "signatures": "Unterschriften",
    "head": "Kopf",
    "seal": "Siegel",
    "sealed in person": "persönlich versiegelt",
    "persons": "Personen",
    "claimed persons": "behauptete Personen",
    "order": "Reihenfolge",
    "chain": "Kette",
    "time stamps": "Zeitstempel",
    "device clocks": "Uhren der Geräte",
    "boards": "Tafeln",
    "time brackets": "Zeitgrenzen",
    "approvals": "Freigaben",
    "release and check": "Freigabe und Prüfung",
    "release in force": "Freigabe in Kraft",
    "closing": "Abschluss",
    "held head": "außerhalb verwahrter Kopf",
    "replay": "noch einmal gemessen",
}
FACT_DETAILS: Final = "Einzelheiten: {count}"
CHANGED_SAYS: Final = "Was zwei Stände dieser Akte unterscheidet. Jeder Stand ist nach der Nummer seines letzten Eintrags benannt."
CHANGED_FROM: Final = "Von"
CHANGED_TO: Final = "Bis"
CHANGED_START: Final = "Anfang"
CHANGED_NOW: Final = "jetzt"
CHANGED_ANSWER: Final = "Antwort der letzten Prüfung"
CHANGED_ANSWER_IS: Final = "Ob betoniert werden darf"
CHANGED_VERDICTS: Final = "Geänderte Urteile"
CHANGED_VERSIONS: Final = "Geänderte Fassungen"
CHANGED_ADDED: Final = "Hinzugekommen: {count}"
CHANGED_NOTHING: Final = "Nichts ist anders"
CHANGED_NOTHING_SAYS: Final = "Wählen Sie zwei Stände, die auseinanderliegen."
CHANGED_WAS: Final = "war"
CHANGED_IS: Final = "ist"
CHANGED_NEVER: Final = "nicht beurteilt"
CHANGED_COPIES: Final = (
    "Zwei Ausfertigungen einer Akte, etwa ein früher versiegeltes Bündel und dieser Ordner, werden auf der Befehlszeile "
    "verglichen: verifier timeline ORDNER --diff BÜNDEL. Das sagt, wo sie auseinandergehen, wenn eine neu geschrieben wurde."
)
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
NOT_LINKED_SAYS: Final = (
    "Bitten Sie den, der diese Seite betreibt, sie mit Ihrem Namen zu verbinden; das geschieht einmal."
)
NO_LOG_IN: Final = "Auf dieser Seite meldet sich niemand an: Sie ist nur auf diesem Rechner offen, und Namen sind wie gewählt."
SEND_COUNT: Final = "Fotos senden ({count})"
SENT_ALL: Final = "Alle beantwortet: {count}"
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
HEADS_FILE: Final = "Oder Ihre eigene Datei der Köpfe, die Sie gesehen haben"
HEADS_GROWN: Final = "Ihre Datei der Köpfe zurücknehmen, um den jetzigen ergänzt"
RELEASE_READ: Final = "Lesen, was eine Freigabe sagen würde"
RELEASE_TEXT: Final = (
    "Lesen Sie dies. Es ist Wort für Wort, was Sie unterschreiben, und steht so auf Englisch in der Akte."
)
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

YES: Final = "ja"
NO: Final = "nein"
YES_NO: Final = {"no": "nein", "yes": "ja"}
ORDER_SITE: Final = "Auf der Baustelle gemischt"
ORDER_SITE_SAYS: Final = (
    "Nach der Zeichnungsdatei wird dieser Beton auf der Baustelle gemischt. Das muss da sein:"
)
ORDER_INCOMPLETE: Final = "Die Bestellung ist nicht vollständig"
ORDER_NONE: Final = "Noch keine Bestellung"
ORDER_NONE_SAYS: Final = (
    "Die Zeichnung enthält {net} m³ netto. Ein Entwurf übernimmt, was Zeichnung und Norm sagen."
)
ORDER_DRAFT: Final = "Bestellung entwerfen"
ORDER_CHANGED: Final = "Seit dem Senden geändert"
ORDER_CHANGED_SAYS: Final = "Noch einmal senden und vom Werk bestätigen lassen."
ORDER_NOT_SENT: Final = "Noch nicht gesendet"
ORDER_NOT_SENT_SAYS: Final = "Mit der Zeichnung vergleichen, dem Werk senden, dann das Senden festhalten."
ORDER_SENT: Final = "Gesendet, nicht bestätigt"
ORDER_CONFIRMED: Final = "Vom Werk bestätigt"
ORDER_SEND: Final = "Sie wurde dem Werk gesendet"
ORDER_WORD: Final = "Wort des Werks"
ORDER_PLANT: Final = "Werk"
ORDER_BY: Final = "Wer hat es gesagt"
ORDER_READY: Final = "Es steht an diesem Tag nicht in Wartung"
ORDER_STOCK: Final = "Vorrat und Fahrzeuge sind bestätigt"
ORDER_CONFIRM: Final = "Bestätigung festhalten"
ORDER_PDF: Final = "Bestellblatt (PDF)"
ORDER_TEXT: Final = "Text zum Senden"
ORDER_EDIT: Final = "Felder der Bestellung"
ORDER_FIRST: Final = "Erstes Fahrzeug"
ORDER_SUPPLY: Final = "Lieferung und Einbau: Fahrmischer, Pumpe, Zeiten"
ORDER_KEPT: Final = "Was Sie tippen, wird sofort aufgehoben, vollständig oder nicht. Eine bestellte und dann geänderte Bestellung muss neu gesendet werden."
ORDER_USUAL: Final = "die übliche"
ORDER_NO_NUMBER: Final = "In der Datei steht keine Zahl; tippen Sie eine."
ORDER_FIRST_DAY: Final = "Tag des ersten Fahrmischers"
ORDER_TRIP: Final = "Umlauf eines Fahrmischers"
ORDER_TRIP_LACKS: Final = "Für den Ablauf fehlt noch: {what}."
ORDER_FIELD: Final = {
    "grade": "Festigkeitsklasse",
    "volume_m3": "Menge, m³",
    "rate_m3_per_h": "Leistung, m³/h",
    "truck_m3": "Ein Fahrzeug, m³",
    "interval_min": "Abstand, min",
    "slump_mm": "Setzmaß, mm",
    "max_aggregate_mm": "Größtkorn, mm",
    "cement": "Zement",
    "mix_name": "Name der Sorte auf dem Lieferschein",
    "address": "Wohin die Fahrzeuge fahren",
    "gate_contact": "Ansprechperson am Tor",
    "balance_called_by": "Wer ruft die letzte Fuhre ab",
    "may_refuse": "Wer darf eine Fuhre zurückweisen",
    "may_order_water": "Wer darf Wasser anordnen",
    "washing_place": "Waschplatz",
    "sampling_by": "Wer nimmt Proben",
    "samples_planned": "Proben",
    "specimens_planned": "Probekörper",
    "second_plant": "Zweites Werk",
    "second_plant_accepted_by_engineer": "Der Tragwerksplaner ist mit dem zweiten Werk einverstanden",
    "slump_at": "Setzmaß gemessen am",
    "admixture": "Zusatzmittel",
    "retarder_hours": "Verzögert um, h",
    "exposure_class": "Expositionsklasse",
    "chloride_class": "Chloridklasse",
    "max_water_cement": "Wasser : Zement höchstens",
    "min_cement_kg_m3": "Zement mindestens, kg/m³",
    "people_present": "Wer da ist, mit Kommas dazwischen",
    "truck_limits": "Grenzen für Fahrzeuge auf dem Weg",
    "lead_time_h": "Vorlauf, den das Werk braucht, h",
    "placing.pump_reach_m": "Reichweite der Pumpe, m",
    "placing.pump_wind_limit_km_h": "Pumpe steht ab Wind von, km/h",
    "placing.hose_m": "Schlauch, m",
    "placing.line_diameter_mm": "Leitung, mm Durchmesser",
    "supply.trucks": "Fahrmischer für diesen Abschnitt",
    "supply.pumps": "Pumpen",
    "supply.front_m": "Länge eines Streifens, m",
    "supply.strip_m": "Breite eines Streifens, m",
    "supply.age": "Alter beim Entladen nach",
    "supply.slump": "Toleranz des Setzmaßes nach",
    "supply.joint": "Zeit bis zur kalten Fuge nach",
    "supply.trip.load_min": "Laden, min",
    "supply.trip.out_min": "Weg zur Baustelle, min",
    "supply.trip.wait_min": "Warten, min",
    "supply.trip.discharge_min": "Entladen, min",
    "supply.trip.wash_min": "Waschen, min",
    "supply.trip.back_min": "Rückweg, min",
    "placing.pump": "Pumpe, Kran oder Karre",
    "placing.second_way": "Zweiter Weg des Einbaus",
    "placing.vibrators": "Rüttler im Einsatz",
    "placing.spare_vibrators": "Rüttler als Reserve",
    "placing.lights": "Beleuchtung",
}
PLAN_POUR: Final = "Ablauf des Betonierens"
PLAN_CANT: Final = "Noch kein Ablauf"
PLAN_LOADS: Final = "Fuhren"
PLAN_TRUCKS: Final = "Fahrzeuge"
PLAN_TRUCKS_SAYS: Final = "{have} vorhanden, {need} halten den Abstand ohne Reserve"
PLAN_INTERVAL: Final = "Abstand gehalten"
PLAN_DURATION: Final = "Dauer"
PLAN_STRIPS: Final = "Streifen"
PLAN_AGE: Final = "{age} min alt, wenn ein Fahrzeug leer ist, Grenze {limit} min"
PLAN_JOINT: Final = "Eine Flanke wartet {age} min auf den nächsten Streifen, Grenze {limit} min"
PLAN_LATE: Final = "Wenn Fahrzeuge sich verspäten"
PLAN_LATE_SAYS: Final = "{runs} Läufe mit ungleicher Fahrzeit, Pannen und Pumpenstillstand. Wie ungleich, ist eine Einstellung des Projekts, keine Vorhersage."
PLAN_AXIS: Final = "älteste Flanke eines Laufs, min"
PLAN_LIMIT: Final = "Kaltfuge"
PLAN_PLANNED: Final = "geplant"
PLAN_LATE_ALT: Final = "Histogramm: In {over} von {runs} Läufen ist eine Flanke älter als {limit} min."
PLAN_WHAT_IF: Final = "Ein Fahrzeug oder eine Pumpe mehr oder weniger"
PLAN_CHANCE: Final = "Wahrscheinlichkeit, dass eine Flanke die Fugenzeit überschreitet"
PLAN_CHANGE: Final = {
    "as-planned": "wie geplant, {minutes} min",
    "truck-more": "ein Fahrzeug mehr, {minutes} min",
    "truck-less": "ein Fahrzeug weniger, {minutes} min",
    "pump-more": "eine Pumpe mehr, {minutes} min",
    "pump-less": "eine Pumpe weniger, {minutes} min",
}
PLAN_WHAT_IF_SAYS: Final = "Wahrscheinlichkeit, dass eine Flanke die Fugenzeit überschreitet, mit 95-%-Intervall aus der Zahl der Läufe; daneben die mittlere Dauer."
FALSEWORK_TITLE: Final = "Schalung und Rüststützen"
FALSEWORK_SAYS: Final = "Eine Überschlagsrechnung, die zeigt, was nicht stimmen kann. Schalung und Rüstung sind Sache ihres Planers; die Freigabe zum Belasten steht in den Rundgängen."
FALSEWORK_NONE: Final = "Stützen sind nicht geprüft"
FALSEWORK_NONE_SAYS: Final = (
    "Tragen Sie unten die Stützen jeder Decke ein, oder schreiben Sie sie in falsework.toml neben pour.toml."
)
FALSEWORK_GRID: Final = "{slab}: {load} kN kommen auf eine Stütze, die {may} kN tragen darf"
FALSEWORK_GRID_SAYS: Final = "{load} kN/m² auf der Schalung; Raster höchstens {grid} m im Quadrat; der Verband nimmt {brace} kN je Stütze auf. {source}."
FALSEWORK_PLATE: Final = "{slab}: {pressure} kPa unter einer Fußplatte, der Boden darf {may} kPa aufnehmen"
FALSEWORK_PLATE_SAYS: Final = "{area} m² oder mehr würden reichen."
FALSEWORK_SIDE: Final = "{element}, {what}, {height} m: {pressure} kPa am Fuß, {force} kN je Meter"
FALSEWORK_SIDE_WHAT: Final = {"beam side": "Balkenseite", "slab edge": "Randschalung"}
FALSEWORK_SIDE_OPEN: Final = "Niemand hat eingetragen, was diese Schalung tragen darf."
FALSEWORK_SIDE_MAY: Final = "Sie darf {may} kPa tragen ({source})."
FALSEWORK_LOOKED: Final = {
    "soffit level": "Höhe der Unterseite",
    "plan position": "Lage im Grundriss",
    "edge line": "Flucht des Randes",
    "prop plumb": "Lot der Stützen",
    "prop eccentricity": "Last neben der Stützenmitte",
    "width": "Breite",
    "depth": "Höhe",
    "thickness": "Dicke",
}
FALSEWORK_FLOOR: Final = "{floor}: {load} von {may} kN/m²"
FALSEWORK_FLOOR_CARRIES: Final = "trägt es"
FALSEWORK_FLOOR_DOWN: Final = (
    "{down} kN/m² gehen weiter nach unten; Hilfsstützen höchstens {grid} m auseinander"
)
FALSEWORK_LEFT: Final = "Es geht mehr nach unten, als die Decken tragen"
FALSEWORK_LEFT_SAYS: Final = "{left} kN/m² gehen unter die letzte genannte Decke."
FALSEWORK_SECTIONS: Final = "Wie weit Querschnitte abweichen dürfen"
FALSEWORK_SECTION: Final = "{element}, {what} {drawn} mm: {bounds}"
FALSEWORK_CAUTIONS: Final = "Vorsicht"
FALSEWORK_FORM: Final = {
    "grid": "Die Stützen einer Decke eintragen",
    "side": "Eintragen, was eine Seite tragen darf",
    "found": "Eine Messung an Schalung oder Stützen eintragen",
}
FALSEWORK_FIELD: Final = {
    "loads": "Lasten nach",
    "slab": "Decke",
    "spacing_x_m": "Stützenabstand in der einen Richtung, m",
    "spacing_y_m": "Stützenabstand in der anderen Richtung, m",
    "prop": "Klasse und Größe der Stütze, etwa B30",
    "extension_m": "Auszugslänge, m",
    "safe_load_kn": "Oder: zulässige Last nach Herstellertabelle, kN",
    "safe_load_source": "Wo die zulässige Last steht",
    "service_load_kn_m2": "Bemessungslast im Gebrauch mit der Decke selbst, ohne Beiwerte, kN/m² (Tragwerksplaner)",
    "on_it_kn_m2": "Was beim Ausschalen darauf kommt, kN/m²",
    "element": "Bauteil",
    "may_carry_kpa": "Die Schalung darf tragen, kPa (ihr Planer)",
    "may_carry_source": "Wo das steht",
    "height_m": "Höhe des frischen Betons, m (leer: wie gezeichnet)",
    "what": "Was gemessen wurde",
    "planned_mm": "Geplant, mm",
    "found_mm": "Gefunden, mm",
}
FALSEWORK_WRITE: Final = "Eintragen"
FALSEWORK_NOT_WRITTEN: Final = "Nicht eingetragen"
FALSEWORK_NO_SLAB: Final = "Die Zeichnungswerte nennen keine Decke."
REMOVAL_NONE: Final = "Keine Folge nach Lasten"
REMOVAL_TITLE: Final = "In welcher Folge Stützen weg dürfen"
REMOVAL_STEP: Final = {
    "holds": "darf an der Reihe weg, sobald der verantwortliche Tragwerksplaner es sagt",
    "does not hold": "muss stehen bleiben",
    "not known": "bleibt, bis die Festigkeit nachgewiesen ist",
    "waits": "wartet auf den Schritt davor",
}
WEATHER_TITLE: Final = "Wetter"
WEATHER_SAYS: Final = "Rat mit Quelle; das Wetter allein gibt nie frei und hält nie auf."
WEATHER_FILE: Final = "Vorhersage als CSV: at, air_c, humidity_percent, wind_km_h, rain_mm, concrete_c"
WEATHER_KEEP: Final = "Diese Vorhersage behalten"
WEATHER_TYPE: Final = "Eine Stunde tippen"
WEATHER_DAY: Final = "Tag"
WEATHER_RAIN: Final = "Regen, mm"
WEATHER_KEEP_HOUR: Final = "Diese Stunde behalten"
WEATHER_NONE: Final = "Für die Stunden des Einbaus und Abziehens ist nichts zu tun."
WEATHER_RATE: Final = "Verdunstung, kg/m²h"
WEATHER_GUIDE: Final = "handeln ab"
WEATHER_ALT: Final = "Verdunstung über die Stunden: höchstens etwa {value}, wahre Rate zwischen {low} und {high} kg/m² je Stunde."
LOG_NO_ORDER: Final = "Das Protokoll hat keine Bestellung als Maßstab"
LOG_PLACED: Final = "Eingebaut von bestellt"
LOG_PLACED_OF: Final = "{placed} / {ordered} m³"
LOG_LEFT: Final = "Noch einzubauen"
LOG_DONE: Final = "beendet"
LOG_LOADS: Final = "Fuhren, die noch kommen"
LOG_LOADS_SAYS: Final = "{count}, letzte {last} m³"
LOG_GAP: Final = "Längste Lücke"
LOG_ENDS: Final = "So geht es bis etwa {when}."
LOG_CALL: Final = "Jetzt den Rest abrufen"
LOG_CALL_SAYS: Final = "Zuerst messen, was auf der Schalung noch fehlt."
LOG_ALARMS: Final = "Alarme"
LOG_NO_ALARM: Final = "Kein Alarm."
LOG_STOP: Final = "Halt"
LOG_NOTE: Final = "Hinweis"
LOG_WITNESS: Final = "Zeugenpunkte"
LOG_ENTRIES: Final = "Protokoll"
LOG_KIND: Final = {
    "arrived": "Fahrzeug kommt an",
    "discharging": "Entladen beginnt",
    "emptied": "Fahrzeug leer",
    "test": "Setzmaß, Temperatur",
    "water": "Wasser zugegeben",
    "refused": "Fuhre zurückweisen",
    "cube": "Würfel gemacht",
    "vibrator": "Rüttler getauscht",
    "people": "Personen",
    "reading": "Wetter ablesen",
    "strip": "Streifen beginnt",
    "movement": "Schalung, Stützen",
    "stop": "Halt",
    "go-on": "Weiter",
    "joint": "Fuge gemacht",
    "other": "Etwas anderes",
    "end": "Ende des Betonierens",
}
LOG_EVENT: Final = {
    "start": "Beginn",
    "stop": "Halt",
    "go on": "Weiter",
    "vibrator changed": "Rüttler getauscht",
    "rain": "Regen",
    "joint made": "Fuge gemacht",
    "people": "Personen",
    "end": "Ende des Betonierens",
    "other": "Etwas anderes",
}
LOG_FIELD: Final = {
    "ticket": "Lieferschein",
    "volume_m3": "Menge, m³",
    "batch_at": "Mischzeit auf dem Schein; leer, wenn unlesbar",
    "at": "Zeit",
    "plant": "Werk",
    "place": "Ort",
    "returned_m3": "Ging zurück, m³",
    "slump_mm": "Setzmaß, mm",
    "concrete_c": "Beton, °C",
    "sample": "Probe",
    "litres": "Wasser, L",
    "ordered_by": "Angeordnet von; leer, wenn von niemandem",
    "within_hold_back": "Innerhalb des Rückbehalts auf dem Schein",
    "says": "Was, in Worten",
    "mark": "Zeichen auf der Form",
    "age_to_test_days": "Alter bei der Prüfung, Tage",
    "air_c": "Luft, °C",
    "humidity_percent": "Feuchte, %",
    "wind_km_h": "Wind, km/h",
    "rain": "Regen",
    "moved_mm": "Bewegt, mm",
    "expected_mm": "Höchstens erwartet, mm",
    "sudden": "Plötzlich oder ungleich",
    "name": "Streifen",
    "neighbour": "Neben dem älteren Streifen; leer, wenn keiner",
    "seen": "Was zu sehen ist",
}
LOG_PHOTO: Final = "Foto von etwas"
LOG_PHOTO_FILE: Final = "Foto"
LOG_RAIN: Final = {
    "none": "kein Regen",
    "first drops": "erste Tropfen",
    "pools can't be removed": "Lachen nicht zu entfernen",
}
LOG_WORDS: Final = {
    "keep": "Behalten",
    "back": "Zurück",
    "needed": "Noch nötig:",
    "waiting": "Auf diesem Telefon behalten, noch nicht in der Akte: {count}",
    "again": "Noch einmal senden",
    "wrong": "Nicht angenommen:",
    "edit": "Berichtigen",
    "drop": "Weglassen",
    "full": "Dieser Browser kann nicht mehr behalten; auf Papier schreiben und Platz schaffen.",
}
CLOSE_CLOSED: Final = "Die Akte ist geschlossen"
CLOSE_READY: Final = "Es fehlt nichts"
CLOSE_READY_SAYS: Final = "Ein Prüfer oder der Tragwerksplaner darf die Akte schließen."
CLOSE_LACKS: Final = "Fehlt noch vor dem Schließen: {count}"
CLOSE_LACKS_SAYS: Final = "Bei jedem steht, wer es bringt."
CLOSE_LIST: Final = "Was fehlt"
CLOSE_WRITE: Final = "Etwas anderes schreiben"
CLOSE_FORM: Final = {
    "terms": "Temperatur und Zement",
    "result": "Ergebnis einer Probe",
    "strength": "Festigkeit zum Ausschalen",
    "struck": "Schalung oder Stützen entfernt",
    "propping": "Hilfsstützen unter einer Decke",
    "back-props": "Alle Hilfsstützen zusammen",
    "level": "Höhe oder Richtlatte",
    "defect": "Mangel",
    "explanation": "Warum die Menge abweicht",
    "query": "Frage an den Tragwerksplaner oder ihre Antwort",
}
CLOSE_KEEP: Final = "In die Akte schreiben"
CLOSE_NOT_KEPT: Final = "Nicht in der Akte"
CURING_TITLE: Final = "Nachbehandlung"
CURING_NO_DAYS: Final = "Keine Tage hinterlegt"
CURING_DAYS: Final = "Verlangte Tage: {days}."
CURING_NOT_BEGUN: Final = "Nicht begonnen"
CURING_NOT_BEGUN_SAYS: Final = "Gezählt wird vom Ende des Betonierens im Protokoll."
CURING_STATE: Final = {
    "conforming": "angesehen und nass",
    "non_conforming": "trocken oder aufgerissen",
    "missing": "noch niemand hat hingesehen",
    "inconclusive": "nicht entschieden",
}
CURING_DONE: Final = "Fertig."
CURING_UNTIL: Final = "Bis {when}."
CURING_LONGER: Final = "Je einen Tag länger für schlechte Tage ({bad}) und für Tage ohne Kontrolle ({empty})."
LOOK_TITLE: Final = "Nachbehandlung jetzt ansehen"
LOOK_CELSIUS: Final = "An der Oberfläche, °C"
LOOK: Final = {
    "wet": "Sie ist nass",
    "dry": "Sie ist trocken, behoben",
    "covering torn": "Abdeckung offen, behoben",
}
LOOK_SAYS: Final = "Einmal je Schicht, an Ruhetagen einmal."
RESULTS_TITLE: Final = "Ergebnisse"
RESULTS_NONE: Final = "Noch kein Ergebnis."
RESULTS_LINE: Final = "Probe {sample}, Alter in Tagen {days}: {value}"
RESULTS_GAIN: Final = "üblich in diesem Alter: {share} % von 28 Tagen, nur zur Kenntnis"
RESULTS_LIMITS: Final = "Mittel mindestens {mean} MPa, jedes mindestens {each} MPa."
RESULTS_VERDICT: Final = {
    "met": "Erfüllt",
    "not met": "Nicht erfüllt",
    "not yet judged": "Noch nicht beurteilt",
}
RESULTS_NO_RULE: Final = "Keine Regel hinterlegt"
RESULTS_NO_RULE_SAYS: Final = "Der Tragwerksplaner entscheidet über die Ergebnisse."
STRIKING_TITLE: Final = "Ausschalen"
STRIKING_NO_DATES: Final = "Noch keine Termine"
STRUCK_DAY: Final = "Tag des Entfernens"
STRIKING_EARLY: Final = "Entfernt {when}, vor diesen Tagen und ohne genug nachgewiesene Festigkeit: der Tragwerksplaner entscheidet."
STRIKING_DONE: Final = "Entfernt {when}."
STRIKING_MAY: Final = "Die Tage sind um; der Tragwerksplaner sagt, wann."
STRIKING_STANDS: Final = "Bleibt."
STRIKING_PART: Final = {
    "sides": "Seiten",
    "slab soffit, props stay": "Deckenschalung, Stützen bleiben",
    "beam soffit, props stay": "Balkenschalung, Stützen bleiben",
    "slab props": "Stützen der Decke",
    "beam props": "Stützen des Balkens",
}
STRIKING_FROM: Final = "{part}: nicht vor {when}"
STRIKING_PROOF: Final = "Festigkeit gezeigt {shown} MPa, nötig {needed} MPa"
STRIKING_ORDER: Final = "Reihenfolge des Entfernens"
STRIKING_CAUTION: Final = (
    "Tage stehen nur für Festigkeit. Der Tragwerksplaner sagt, wann Schalung und Stützen gehen."
)
DEFECTS_TITLE: Final = "Mängel"
DEFECTS_DECIDED: Final = "Entschieden von {by}: {decision}"
DEFECTS_OPEN: Final = "Wartet auf den Tragwerksplaner."
LEVELS_TITLE: Final = "Höhen"
TERMS_CANTILEVER: Final = "Ein Teil kragt aus"
TERMS_EARLY: Final = "Frühhochfester Beton"
TERMS_LIVE: Final = "Nutzlast größer als Eigenlast"
TERMS_CLASS: Final = "Nachbehandlungsklasse"
TERMS_STRIKING: Final = "Ausschalfristen, die die Ausführungsunterlagen verlangen"
TERMS_STRIKINGS: Final = {
    "of the code": "keine; EN 13670 nennt keine Tage, die Festigkeit entscheidet",
    "BS 8110-1": "BS 8110-1, Tabelle 6.2 (zurückgezogen; nach Oberflächentemperatur)",
}
TERMS_RATIO: Final = "Festigkeit nach 2 Tagen zu der nach 28 Tagen"
TERMS_SLAB: Final = "Größte Spannweite der Decke, m"
TERMS_BEAM: Final = "Größte Spannweite der Balken, m"
QUERY_WHICH: Final = "Welche Frage"
QUERY_NEW: Final = "eine neue Frage"
QUERY_SAYS: Final = "Die Frage oder die Antwort"
LEVEL_KIND: Final = "Was gemessen wurde"
LEVEL_WHAT: Final = {
    "level": "Höhe der Oberseite",
    "straightedge": "Spalt unter der 2-m-Latte",
    "thickness": "Dicke",
}
TERMS_MEAN: Final = "Mittlere Lufttemperatur seit dem Betonieren, °C"
TERMS_CEMENT: Final = "Zement"
TERMS_CEMENTS: Final = {"ordinary": "gewöhnlich", "blended": "mit Zumahlstoffen oder Zusätzen"}
TERMS_HOT: Final = "Heißes, trockenes Wetter"
RESULT_SAMPLE: Final = "Probe"
RESULT_AGE: Final = "Alter bei der Prüfung, Tage"
RESULT_MPA: Final = "Probekörper, MPa, mit Leerzeichen dazwischen"
RESULT_MPA_WRONG: Final = "Nur Zahlen, zum Beispiel: 27.2 26.8 28.0"
LEVEL_OFF: Final = "Abweichung vom Plan, mm"
LEVEL_DOUBT: Final = "Erweiterte Unsicherheit (95 %), mm"
STRENGTH_PART: Final = "Für"
STRENGTH_PARTS: Final = {"soffit": "eine Untersicht", "side": "eine Seite"}
STRENGTH_STRESS: Final = "Spannung ohne Stützen, vom Tragwerksplaner, MPa"
STRUCK_WHAT: Final = "Was entfernt wurde"
STRUCK_BY: Final = "Auf welchen Nachweis"
STRUCK_EVIDENCE: Final = {
    "days of the code": "Tage der Norm",
    "strength shown": "Festigkeit gezeigt",
    "decided by the engineer of record": "vom Tragwerksplaner entschieden",
}
REMOVAL_DONE: Final = "entfernt {when}"
PROPPING_KNOWN: Final = "Decken dieser Betonage: {floors}."
PROPPING_FLOOR: Final = "Decke über den Hilfsstützen"
PROPPING_STEP: Final = "Was geschah"
PROPPING_STEPS: Final = {"placed": "gestellt", "taken away": "entfernt"}
PROPPING_SIZE: Final = {
    "spacing_x_m": "Abstand in einer Richtung [m]",
    "spacing_y_m": "Abstand in der anderen Richtung [m]",
    "prop_kn": "Was eine Hilfsstütze tragen darf [kN]",
}
PROPPING_DAY: Final = "Tag"
PROPPING_STATE: Final = {
    "not written": "keine Hilfsstützen festgehalten",
    "stand": "Hilfsstützen stehen und tragen",
    "do not hold": "Hilfsstützen tragen nicht",
    "taken away": "entfernt",
    "taken too early": "zu früh entfernt",
}
BACK_PROPS: Final = "Hilfsstützen"
BACK_PROPS_STATE: Final = {
    "none needed": "keine nötig",
    "removed and written": "entfernt und festgehalten",
    "still standing": "stehen noch",
}
DEFECT_KIND: Final = "Art"
DEFECT_KINDS: Final = {
    "cold joint line": "Linie einer Kaltfuge",
    "level, bulge or step": "Höhe, Bauch oder Absatz",
    "stain, leak or exposed bar": "Fleck, Leck oder freier Stab",
    "honeycomb": "Kiesnest",
    "crack": "Riss",
}
DEFECT_SAYS: Final = "Was zu sehen ist: Größe und Ort"
DEFECT_HOW: Final = "Beschreiben, nicht urteilen: keine Ursache, kein Gewicht. Der Tragwerksplaner urteilt."
DEFECT_PHOTO: Final = "Foto mit Maßstab"
DEFECT_SIZE: Final = {"length_mm": "Länge, mm", "width_mm": "Breite, mm", "depth_mm": "Tiefe, mm"}
DEFECT_BAR: Final = "Ein Stab ist zu sehen"
DEFECT_WIDTH: Final = "Breite {count} von 3, mm"
DEFECT_WAY: Final = "Richtung"
EXPLAIN_SAYS: Final = "Warum eingebaute und berechnete Menge abweichen"
SIGN_TITLE: Final = "Unterschriften"
SIGN_POST: Final = {
    "contractor's engineer": "Ingenieur des Unternehmers",
    "independent inspector": "Unabhängiger Prüfer",
    "engineer of record": "Tragwerksplaner",
}
SIGN_OPEN: Final = "nicht unterschrieben"
SIGN_AGAIN: Final = "{person}, vor späteren Einträgen (Eintrag {record}): noch einmal unterschreiben"
SIGN_SIGN: Final = "Unterschreiben oder entscheiden"
SIGN_AS: Final = "Als"
SIGN_DECIDES: Final = "Was entschieden wird"
SIGN_ONLY: Final = "nichts, nur unterschreiben"
SIGN_OTHER: Final = {
    "results": "die Ergebnisse",
    "levels": "Höhen außerhalb der Grenze",
    "striking": "was zu früh entfernt wurde",
}
SIGN_DEFECT: Final = "Mangel {number}"
SIGN_DECISION: Final = "Die Entscheidung in Worten"
SIGN_GIVE: Final = "Unterschreiben"
SIGN_CLOSE: Final = "Akte schließen"
RELEASE_AGAIN: Final = "Noch einmal freigeben"

# Zur Prüfung übergeben, und was der Prüfer von der Baustelle möchte

HAND_OVER: Final = "Zur Prüfung übergeben"
HAND_OVER_SAYS: Final = "Nichts hält die Betonage auf. Der Prüfer sieht, wer wann übergeben hat; neue Nachweise beenden die Übergabe."
HAND_OVER_OPEN: Final = (
    "Gründe, die die Betonage noch aufhalten: {stops}. Übergeben geht trotzdem; der Prüfer sieht sie."
)
HAND_OVER_TEXT: Final = "Was der Prüfer wissen sollte (darf leer bleiben)"
TAKE_BACK: Final = "Zurücknehmen"
TAKE_BACK_WHY: Final = "Warum es zurückgenommen wird (darf leer bleiben)"
HANDED_STATE: Final = {
    "waits": "Zur Prüfung übergeben von {person}, {when}",
    "changed": "Übergeben von {person}, {when}; gilt nicht mehr, denn seither: {since}",
    "answered": "Übergeben von {person}, {when}; der Prüfer hat geantwortet: {since}",
    "taken back": "Aus der Prüfung zurückgenommen von {person}, {when}",
}
WANTED: Final = "Das möchte der Prüfer von Ihnen: {count}"
WANTED_KIND: Final = {
    "return": "zurückgegeben",
    "spot.ask": "eine weitere Stelle",
    "remark": "eine Bemerkung",
}
WANTED_PLACE: Final = "Die gemeinte Stelle"
WANTED_PHOTO: Final = "Mit einem neuen Foto antworten (geht ab, sobald es gewählt ist)"
WANTED_SAYS: Final = "Mit einem neuen Foto beantwortet."
WANTED_ANSWERED: Final = "Beantwortet; {person} muss es noch einmal ansehen."

# Tabellen für die Tabellenkalkulation, dort, wo sie zu sehen sind

TABLE: Final = {
    "readings": "Ablesungen",
    "rounds": "Antworten",
    "round events": "Haltepunkte und Ereignisse",
    "order": "Bestellung",
    "deliveries": "Lieferungen",
    "slumps": "Setzmaß",
    "water": "Zugegebenes Wasser",
    "specimens": "Probekörper",
    "strips": "Streifen",
    "hours": "Stunden",
    "movements": "Bewegungen",
    "events": "Ereignisse",
    "results": "Ergebnisse",
    "curing": "Nachbehandlung",
    "striking": "Ausschalen",
    "levels": "Höhen",
    "defects": "Mängel",
}
TABLE_COLUMNS: Final = {
    "readings": (
        "Bauteil",
        "Lage",
        "Stelle",
        "was",
        "Nummer des Feldes",
        "überspannte Felder",
        "Wert, mm",
        "erweiterte Unsicherheit (95 %), mm",
        "Anzahl, Stäbe",
        "Person",
        "abgelesen",
        "Datei",
    ),
    "rounds": (
        "Rundgang",
        "Punkt",
        "was",
        "Ort",
        "Antwort",
        "Wert",
        "Einheit des Punkts",
        "im Plan",
        "untere Grenze",
        "obere Grenze",
        "woher die Grenze kommt",
        "Fotos",
        "Papiere",
        "Bemerkung",
        "Person",
        "Zeit auf der Baustelle",
    ),
    "round events": (
        "was",
        "Punkt",
        "Rundgang",
        "wer oder was",
        "gesagt",
        "Person",
        "Zeit auf der Baustelle",
    ),
    "order": ("Feld", "bestellt", "Einheit"),
    "deliveries": (
        "Lieferschein",
        "Werk",
        "Sorte",
        "Menge, m³",
        "beladen",
        "angekommen",
        "Entladen begonnen",
        "Entladen beendet",
        "Beton, °C",
        "Ort",
        "Probe",
        "zurückgewiesen, weil",
        "angenommen von",
    ),
    "slumps": ("Lieferschein", "Teilprobe", "Setzmaß, mm", "Zeit auf der Baustelle"),
    "water": (
        "Lieferschein",
        "Wasser, L",
        "angeordnet von",
        "innerhalb des Zurückgehaltenen",
        "Zeit auf der Baustelle",
    ),
    "specimens": ("Probe", "Zeichen", "Lieferschein", "hergestellt", "Prüfalter, Tage", "Ort", "Person"),
    "strips": ("Streifen", "begonnen", "beendet", "Nachbar überdeckt", "Nachbar", "Schicht, mm", "Rüttler"),
    "hours": (
        "Zeit auf der Baustelle",
        "Luft, °C",
        "Feuchte, %",
        "Wind, km/h",
        "Beton, °C",
        "Regen",
        "höchster Haufen, mm",
        "verschobene Bewehrung, m",
        "Person",
    ),
    "movements": ("Zeit auf der Baustelle", "Ort", "bewegt, mm", "erwartet, mm", "gesehen", "Person"),
    "events": ("Zeit auf der Baustelle", "was", "gesagt", "Person"),
    "results": (
        "Probe",
        "Alter, Tage",
        "Probekörper",
        "Probekörper, MPa",
        "Probe, MPa",
        "kein Ergebnis, weil",
    ),
    "curing": ("Zeit auf der Baustelle", "vorgefunden", "Temperatur, °C", "behoben", "Person"),
    "striking": ("Teil", "nicht vor", "ausgeschalt", "woher der Termin kommt"),
    "levels": ("Ort", "Abweichung, mm", "Unsicherheit, mm", "was", "Person", "Zeit auf der Baustelle"),
    "defects": (
        "Nummer",
        "Art",
        "Ort",
        "beschrieben",
        "Länge, mm",
        "Breite, mm",
        "Tiefe, mm",
        "gesehen von",
        "Zeit auf der Baustelle",
        "Entscheidung",
        "entschieden von",
    ),
}
TABLE_EVENT: Final = {
    "hold": "Haltepunkt freigegeben",
    "witness": "Zeuge benachrichtigt",
    "signed": "Rundgang unterschrieben",
}

# Punkte auf einem Foto, eingetippt

POINTS_TYPE: Final = "Punkte eintippen"
POINTS_TYPE_SAYS: Final = (
    "Pixel des aufrechten Fotos, {width} breit und {height} hoch, von seiner linken oberen Ecke aus."
)
POINTS_AXIS: Final = "Punkt {number}, {axis}, px"
POINTS_TYPED: Final = "Diese Punkte setzen"
POINTS_TYPE_ALL: Final = "Füllen Sie erst jede Zahl aus."

# Fotos gewählt und nicht gesendet

SEND_CHOSEN: Final = "Gewählt, nicht gesendet: {count}"
SEND_CHOSEN_SAYS: Final = "Sie bleiben hier liegen, bis Sie sie senden, längstens {days} Tage, auch nach einem Neuladen und in einem anderen Fenster."
SEND_CHOSEN_WHICH: Final = "Welche"
SEND_CHOSEN_DROP: Final = "Weglassen"
SEND_CHOSEN_DROP_ALL: Final = "Alle weglassen"
SEND_NOT_KEPT: Final = "Nicht angenommen"
ROUNDS_GO: Final = "Zu den Rundgängen"

# Kurze Formulare

FORM_FILE_KEPT: Final = "aufgehoben; sie geht mit dem Eintrag ein"
FORM_FILE_DROP: Final = "Datei zurücknehmen"
FORM_EMPTY: Final = "Etwas ist noch leer"
FORM_EMPTY_SAYS: Final = "Füllen Sie es aus, dann tippen Sie noch einmal auf den Knopf."

# Prüfstrecke einer Tafel

BOARD_CHECK: Final = "Prüfstrecke einer Tafel"
BOARD_CHECK_SAYS: Final = "Die Prüfstrecke auf dem Druck mit einem Stahlmaßstab ablesen, auf ein Zehntel Millimeter. Ein Druck, der um 2 % falsch ist, verschiebt jeden Abstand um ebenso viel."
BOARD_NUMBER: Final = "Nummer der Tafel"
BOARD_PAPER: Final = "Blatt und wahre Länge"
BOARD_MEASURED: Final = "Am Druck abgelesen, mm"
BOARD_KEEP: Final = "Diese Länge eintragen"
BOARD_NOT_KEPT: Final = "Nicht eingetragen"
