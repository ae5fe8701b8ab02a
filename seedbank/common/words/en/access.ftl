# What the room access says.

token-holder-misread = { cannot-be }
    .mend = Name its holder in 1 to { $most } printable letters.
