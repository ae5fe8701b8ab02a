# What the room web says.

nul-character = { cannot-be }
    .mend = Leave the NUL character out.
given-twice = { cannot-be }
    .mend = Give it once: it takes one value.

not-one-of = { cannot-be }
    .mend = Use one of { $choices }.
form-key-misread = { cannot-be }
    .mend = Open the page anew and send its form.

cursor-misread = { cannot-be }
    .mend = Take the address of the next page just as the page before gives it.

no-query-parameters = { cannot-be }
    .mend = Leave it out: this address takes no query parameters.
query-parameter-misspelt = { cannot-be }
    .mend = Did you mean { $close }?
query-parameter-unknown = { cannot-be }
    .mend = This address takes { $names }.

form-sent-before = This form was sent before with other values, and those were recorded.
    .mend = Send it again if you mean to record these as well.
changed-meanwhile = Someone changed this while you were writing.
    .mend = Look at what it says now, and send your change again if it is still right.

list-ends-there = The list doesn't go on from there.
    .mend = Go back to the start of the list.

etag-misread = The header { $field } can't be read.
    .mend = Write the ETag in double quotes, like "3", or use *.
idempotency-key-missing = The header { $field } is missing.
    .mend = Send a fresh random value, such as a UUID, and the same one if you repeat the request because no answer came.
idempotency-key-misread = The header { $field } can't be read.
    .mend = Use 1 to 255 letters, digits and signs of ASCII, without spaces.
version-missing = The header { $field } is missing.
    .mend = Read the thing first and send its ETag back in the header If-Match.

# Types of problem, as their pages tell them (web.api.problem_types).

problem-not-there = No such thing
    .meaning = What the address or a field names isn't in the collection.
problem-bad-value = Some values can't be right
    .meaning = errors names each field, its value, the mend.
problem-doubted = Is it so?
    .meaning = Hardly ever so, and so not taken: mend it, or send it again with confirmed true if it is so.
problem-conflict = Not as things stand
    .meaning = Well formed, but the collection doesn't allow it now.
problem-not-enough-seed = Not enough seed
    .meaning = A lot's balance never goes below zero.
problem-stale-version = Changed meanwhile
    .meaning = If-Match names a version that is no longer current.
problem-version-required = Say which version
    .meaning = Changing and deleting need the header If-Match.
problem-key-required = Key required
    .meaning = Every POST needs the header Idempotency-Key.
problem-bad-header = Header can't be read
    .meaning = A header is malformed.
problem-key-reused = Key already used
    .meaning = One Idempotency-Key stands for one request only.
problem-still-answering = Still being answered
    .meaning = Send the same request again in a second.
problem-database = The database can't be used
    .meaning = The collection's database is not available.
problem-busy = Busy
    .meaning = Too many ask at once for what takes long to work out.
problem-failure = Something broke here
    .meaning = A fault of the program; nothing was changed.

# Requests that no operation takes (web.api.problems).

http-400 = Send the body as JSON in UTF-8.
http-404 = There is nothing at this address; GET /openapi.json lists what there is.
http-405 = This address doesn't take this method; the header Allow says which it takes.
http-413 = The request is larger than this service takes; send it in parts.
look-in-log = Try again; if it fails again, look in the server's log.
doubted-mend = { $mend } If it is so, send it again with { $confirmed } true.

# Pages that say what went wrong (web.pages.page_route).

fault-heading = { $status ->
        [404] Not found
        [409] Not as things stand
        [412] Changed meanwhile
        [422] That can't be right
        [503] Not just now
       *[other] { $phrase }
    }
no-such-page = There is no such page. The address may be mistyped, or what it showed is gone.
    .mend = { "" }
http-other = { $detail }
    .mend = { "" }
something-broke = Something broke here; it is no fault of yours. Nothing was changed.
    .mend = The server's log says what happened.
