# What the room kinds says.

variety-name-taken = This kind already has a variety called { $variety }.
    .mend = Use that variety, or give this one a name that tells them apart.
variety-in-use = Variety { $variety } still has lots, seed crops, flowerings or pins.
    .mend = File its lots under another variety first; a lot with seed is never dropped.

kind-name-taken = There already is a kind { $slug }.
    .mend = Use that kind and state your own facts about it, or choose another slug.
kind-in-use = Varieties or flowerings belong to kind { $kind }.
    .mend = Take those out first.
packaged-kind-fixed = Kind { $kind } came with the program and can't be { $done }.
    .mend = State facts of your own about it, or add a kind of your own.

fact-misread = { $why }
    .mend = { $mend }
