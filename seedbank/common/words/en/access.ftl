# What the room access says.

name-name-holder-printable-letters = { cannot-be }
    .mend = Name its holder in 1 to { $LONGEST_NAME } printable letters.
