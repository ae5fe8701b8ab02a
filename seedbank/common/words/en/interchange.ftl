# What the room interchange says.

import-refused = Nothing was imported: { $problems ->
        [one] 1 problem
       *[other] { COUNT($problems) } problems
    }.
    .mend = Mend the lines named in the files and import the folder again.
archive-refused = { import-refused }
    .mend = Export the collection again, or mend the lines named.
sheet-refused = { import-refused }
    .mend = Mend the lines named in the file, or leave them out, and bring it again.
problems-more = and { COUNT($more) } more

passport-days-disordered = { comes-before }
    .mend = { -ask-giver }
tested-before-harvest = { comes-before }
    .mend = A test can't start before the harvest. { -ask-giver }
received-before-given = { comes-before }
    .mend = Give the day it came here.

# What to know of a record of the passport descriptors before it is handed on.

institute-left-out = INSTCODE is left out: give the code of the institute that keeps it, if it has one.
species-left-out = GENUS and SPECIES are left out: state the kind's botanical name.
status-left-out = SAMPSTAT is left out: what is on record doesn't tell which code it comes under.
country-left-out = ORIGCTY is left out: the country it was bred or collected in is not on record.
donor-may-be-person = DONORNAME may name a person: ask them, or strike it out, before you hand this on.
name-written-otherwise = ACCENAME is written as the standard asks; here it is '{ $variety }'.

# Values that don't go together (forms).

sheet-as-text-or-base64 = give the sheet as text or as base64, one of the two

no-row-on-line = No row is there.
    .mend = Name lines that hold a row.

sheet-changed-since = This isn’t what was shown: the sheet, or what is known here, changed since.
    .mend = Look through it once more, and confirm what is shown then.

no-such-column = No such column.
    .mend = The sheet has these: { $headings }.
column-meaning-taken = { cannot-be }
    .mend = Let one column be { $meaning }.

option-not-name-value = { cannot-be }
    .mend = Write it as NAME=VALUE.

no-row-left-to-take-in = No row is left to take in.
    .mend = Leave fewer lines out.

variety-name-missing = { cannot-be }
    .mend = Give the name of the variety.
accession-taken-in = This accession was taken in before, as lot { $lot }.
    .mend = Leave the record out, or book more of its seed to that lot.
accession-told-twice = This accession was told above.
    .mend = Leave the record out, or book more of its seed to that lot.
no-such-field = No such field.
    .mend = Use the field names of the standard.
genus-missing = { cannot-be }
    .mend = Give the genus and species, or a known CROPNAME.

file-exists = { cannot-be }
    .mend = Name a file that isn't there yet; none is overwritten.

kind-named-otherwise = Here the kind { $kind } is { $here }.
    .mend = Take it in by hand, under the kind it is of.

not-a-folder = { cannot-be }
    .mend = Name a folder of CSV files.

collection-not-empty = An archive is taken into an empty collection, and this one has a { $used } already.
    .mend = Name a new database, or import a folder of spreadsheets to add to this one.

folder-missing = { cannot-be }
    .mend = Make the folder { $folder } first.

no-such-kind = No such kind.
    .mend = { $mend }.
meant-date-misread = “{ $value }”: { $why }.
    .mend = Write it like October 2009, 2009 to 2010, 2009-10-31 or unknown.
sheet-too-long = A page can carry { COUNT($most) } characters, and this has { COUNT($characters) }.
    .mend = Bring it in parts, or use seedbank import at the machine itself.
no-line = { $piece } isn’t a line.
    .mend = Write the numbers of lines, like 7, 9-12.
misfit = { cannot-be }
    .mend = { $mend }.
species-not-known = { cannot-be }
    .mend = Add the kind with its botanical name first.
species-of-kinds = { cannot-be }
    .mend = Say which of these it is: { $names }.
passport-cannot-tell = A passport can't tell { $field } as it is on record.
    .mend = { $mend }
-ask-giver = Ask the giver for the passport anew.
passport-changed = The passport was changed since it was written.
    .mend = { -ask-giver }
harvested-after-given = It was harvested after it was given.
    .mend = { -ask-giver }
day-counted-twice = That day is counted twice.
    .mend = { -ask-giver }
passport-judged-not-as-set = { COUNT($judged) } seeds are judged but { COUNT($value) } were set.
    .mend = { -ask-giver }
