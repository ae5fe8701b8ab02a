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
    .mend = { $mend }

# What to know of a record of the passport descriptors before it is handed on.

institute-left-out = INSTCODE is left out: give the code of the institute that keeps it, if it has one.
species-left-out = GENUS and SPECIES are left out: state the kind's botanical name.
status-left-out = SAMPSTAT is left out: what is on record doesn't tell which code it comes under.
country-left-out = ORIGCTY is left out: the country it was bred or collected in is not on record.
donor-may-be-person = DONORNAME may name a person: ask them, or strike it out, before you hand this on.
name-written-otherwise = ACCENAME is written as the standard asks; here it is '{ $variety }'.

# Values that don't go together (forms).

sheet-as-text-or-base64 = give the sheet as text or as base64, one of the two
