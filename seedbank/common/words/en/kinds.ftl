# What the room kinds says.

kind-already-has-variety-called = This kind already has a variety called { $variety }.
    .mend = Use that variety, or give this one a name that tells them apart.
variety-still-has-lots-seed = Variety { $variety } still has lots, seed crops, flowerings or pins.
    .mend = File its lots under another variety first; a lot with seed is never dropped.

there-already-kind = There already is a kind { $slug }.
    .mend = Use that kind and state your own facts about it, or choose another slug.
varieties-flowerings-belong-kind = Varieties or flowerings belong to kind { $kind }.
    .mend = Take those out first.
kind-came-program-cant = Kind { $kind } came with the program and can't be { $done }.
    .mend = State facts of your own about it, or add a kind of your own.

fact-misread = { $why }
    .mend = { $mend }
