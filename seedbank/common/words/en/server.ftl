# What the room server says.

no-owner-token = Nobody has an owner's token yet, so nobody could come in at this address.
    .mend = Make yourself a token first: seedbank token add "your name" --rights owner.

no-address-of-ours = { cannot-be }
    .mend = Name an address of this machine, like 127.0.0.1.
port-taken = { cannot-be }
    .mend = Choose another with --port; this one is taken or not allowed.
serving = Serving on { $address } (reading matter: /docs). Ctrl-C stops it.
judging-every-lot = Judging every lot
demo-there-already = { $file } holds a collection already; it is used as it is.

# Requests turned away before they reach the program (server.guards, server.token_guard).

host-not-ours = This service doesn't go by that name.
    .mend = Use the address it was started with, or add the name to SEEDBANK_ALLOWED_HOSTS.
asked-by-other-site = A page of another site asked for this change. Nothing was changed.
    .mend = Open this address in a tab of its own and send the form from there.
request-too-large = A request may hold { $most } bytes. Nothing was changed.
    .mend = Send it in parts, or let SEEDBANK_MAX_BODY_BYTES allow more.
token-missing = This service asks for a token.
    .mend = { -send-token }
token-wrong = { -token-not-good }.
    .mend = { -send-token }
-send-token = Send the header Authorization: Bearer followed by the token; its owner makes one with `seedbank token add`.
-token-not-good = This token is not, or no longer, good
too-many-requests = Too many requests in a minute with this token.
    .mend = Wait a minute, then go on more slowly.
too-many-wrong-tokens = { -token-not-good }, and too many wrong ones came from here.
    .mend = See that all of the token is there: a right one is let in at once. Otherwise wait a minute.
rights-too-few = { $rights ->
        [reader] A reader's
        [keeper] A keeper's
       *[owner] An owner's
    } token doesn't allow this. Nothing was changed.
    .mend = Ask the owner of this service to do it, or for a token with more rights.
token-typed-wrong = { -token-not-good }. See that all of it is there.
