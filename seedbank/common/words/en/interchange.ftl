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
