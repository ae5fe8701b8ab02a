# What the room overview says: the shelf, and work on many lots at once.

batch-done = { $work ->
        [move] Moved { $lots ->
            [one] 1 packet
           *[other] { $lots } packets
        } to { $target }.
        [give] Gave away from { $lots ->
            [one] 1 packet
           *[other] { $lots } packets
        }.
        [throw-out] Threw out { $lots ->
            [one] 1 packet
           *[other] { $lots } packets
        }.
        [keepers] Put down how many others keep the varieties of { $lots ->
            [one] 1 packet
           *[other] { $lots } packets
        }.
       *[test] Put { $lots ->
            [one] 1 packet
           *[other] { $lots } packets
        } on a towel.
    }
undoes-batch = Undoes the work on many packets, number { $number }.

batch-lots-or-among = name the lots by their codes, or say which ones by what they are
    .mend = Give one of lots and among.
batch-keepers-unsaid = say how many others keep them
    .mend = Give other_keepers: none, few or many.
batch-amount-or-share = an amount and a share can't both be taken
    .mend = Give one of amount and share.
batch-of-none = No packet answers to that.
    .mend = Ask for less.
batch-of-too-many = That are { $value } packets.
    .mend = Ask for { $most } or fewer.
batch-codes-unknown = { $lots ->
        [one] No lot has the code { $value }.
       *[other] No lots have the codes { $value }.
    }
    .mend = Read them on the packets again, or leave them out. Nothing was changed.
batch-refused = It can't be done to { $value }. { $why }
    .mend = Leave { $lots ->
        [one] it
       *[other] them
    } out. Nothing was changed.
batch-holds-too-little = { $held ->
        [0] Lot { $value } is empty.
       *[other] Lot { $value } holds only { COUNT($held) } seeds.
    }
    .mend = Take less of it.
batch-share-of-uncounted = Nobody has counted lot { $value }, so no share of it can be taken.
    .mend = Count it first, or take all of it.
batch-undone-already = This is undone already.
    .mend = Nothing is left to do.
batch-not-undone = It can't be undone: { $codes } { $lots ->
        [one] was
       *[other] were
    } moved, counted, used or told of since.
    .mend = Put the packets right one by one.
batch-work-unsaid = It isn't said what to do with the lots.
    .mend = Name it first, such as: seedbank batch move 4K7PM --place 2
batch-undone = Undone: { $lots ->
        [one] 1 packet is
       *[other] { $lots } packets are
    } as before.
batch-how-undone = To undo it: seedbank batch --undo { $number }
shelf-near = Nothing is called that. These come near:
shelf-total = { $lots ->
        [0] No packets answer to that.
        [one] 1 packet.
       *[other] { $lots } packets, page { $page } of { $pages }.
    }
batch-nothing-ticked = No packet is ticked.
    .mend = Tick some first.
batch-question-misread = What the shelf was asked for can't be read.
    .mend = Choose again on the shelf.
work-how-undone = To undo it: seedbank lot undo { $number }
