# What the room access says.

token-holder-misread = { cannot-be }
    .mend = Name its holder in 1 to { $most } printable letters.
token-made = Token { $number } for { $name } ({ $rights }). It is shown now and never again; hand it over in person, not by post or mail:
token-state = made { DAY($made) }  { $revoked ->
        [unknown] in force
       *[other] revoked { DAY($revoked) }
    }
no-token-made = No token was ever made; the collection is for this machine alone.
token-revoked = Token { $number } of { $name } is revoked.
