# What the room server says.

no-owner-token = Nobody has an owner's token yet, so nobody could come in at this address.
    .mend = Make yourself a token first: seedbank token add "your name" --rights owner.

no-address-of-ours = { cannot-be }
    .mend = Name an address of this machine, like 127.0.0.1.
port-taken = { cannot-be }
    .mend = Choose another with --port; this one is taken or not allowed.
