# What the room lots says.

standard-error-negative = { cannot-be }
    .mend = Give a standard error of 0 or more.
weight-negative = { cannot-be }
    .mend = Give a weight of 0 g or more, whichever way it moves.
thousand-seed-weight-not-positive = { cannot-be }
    .mend = Give a weight above 0 g.
stock-take-negative = { cannot-be }
    .mend = Count 0 seeds or more.
seed-coming-in-negative = { cannot-be }
    .mend = Seed { $reason } comes in: book 1 seed or more.
seed-going-out-positive = { cannot-be }
    .mend = Seed { $reason } goes out: book -1 seed or fewer.
seed-going-out-uncounted = { cannot-be }
    .mend = Say how many seeds: those { $reason } must be counted.

about-half-left = about half a packet left
packet-and-number = A packet of unknown number is chosen, and { $value } is typed.
    .mend = Choose Count it or Weigh it, or clear the number.
year-misread = This is no year.
    .mend = Give the year in four digits, like 2026, or choose None.

photo-too-large = This file is larger than { COUNT($most) } bytes.
    .mend = Send a smaller photograph.
photo-misread = This is no picture that can be read.
    .mend = Send a photograph as JPEG, PNG or WebP.
photo-not-chosen = No photograph was chosen.
    .mend = Choose one, or take one.
photo-removing-not-ticked = The photograph is still there.
    .mend = Tick the box if you want to take it away.
photo-too-many-pixels = This picture has more than { COUNT($most) } pixels.
    .mend = Send a smaller photograph.

seed-weight-unknown = Nothing is known of this seed's weight, so grams can't be turned into seeds.
    .mend = Count the seeds instead, or weigh a hundred and state its thousand-seed weight.
weight-below-one-seed = { cannot-be }
    .mend = Weigh again, or count the seeds: this is less than one seed.

doubt-not-open = Nothing is asked about lot { $value }, or it is answered already.
    .mend = Leave it out; what a lot holds is changed by a stock-take.

movement-of-test-or-sowing = This movement belongs to { $what } { $number }.
    .mend = Delete { $what } { $number } if it was recorded by mistake; its seed returns.

lot-used-before-harvest = Lot { $lot } was tested or sown on { DAY($used) }, before that harvest.
    .mend = Give { DAY($used) } or an earlier day, or mark the harvest as estimated.
lot-has-history = Lot { $lot } has a history: movements, tests, sowings, seed crops or offspring.
    .mend = Discard what is left of it by a movement and leave the lot listed.
parent-of-unrelated-kind = Lot { $value } is { $parent_kind }, which { $kind } doesn't come from.
    .mend = Name parent lots of its own kind, or of one that crosses with it.
harvest-year-to-come = { cannot-be }
    .mend = Give { $year } or earlier.
harvest-date-of-other-year = The year and the day of harvest name different years.
    .mend = Give { $year }, or clear the day of harvest.

place-name-taken = There already is a place called { $place }.
    .mend = Use that place, or give this one a name of its own.
place-not-sealed = { $place } is not a sealed place, so it can't be sealed anew.
    .mend = Say of the place that it is sealed, or leave this out.

place-into-itself = A place can't be merged into itself.
    .mend = Choose another one.
place-in-use = Lots are, or were, kept in { $place }; their history needs it.
    .mend = Move the lots elsewhere and leave the place listed.

change-not-in-list = { cannot-be }
    .mend = Choose the change from the list.

code-length = it has { COUNT($characters) } { $characters ->
        [one] character
       *[other] characters
    }, a code has { COUNT($least) } or more
code-character = no code has the character { $character }
code-check-failed = a character is wrong, or two have changed places

before-harvest = { comes-before }
    .mend = Lot { $lot } wasn't harvested yet; mend this day, or the lot's harvest.
before-it-came = Lot { $lot } came here on { DAY($came) }, later than that.
    .mend = Mend { $field }, or the day the lot was harvested or came here.
before-its-year = Lot { $lot } is thought to be of { $year }, later than that.
    .mend = Mend { $field }, or the day the lot was harvested or came here.

grams-not-enough = Lot { $lot } holds { GRAMS($held_g) }, so { GRAMS($value) } can't be taken.
    .mend = Take less, or weigh what is really there and take stock.
all-grams-taken = all that was weighed is taken
grams-taken-since = Movement { $value } can't be undone: grams of its seed were taken since.
    .mend = Undo what was taken first.
undoes-another = Movement { $value } can't be undone: it undoes another itself.
    .mend = Book the movement anew.
undone-already = Movement { $value } can't be undone: it is undone already.
    .mend = Nothing is left to do.
counted-since = Movement { $value } can't be undone: the stock-take of { DAY($counted) } has counted the packet since.
    .mend = Book a new stock-take if the amount is wrong.

lot-of-another-kind = Lot { $lot } is of another kind.
    .mend = Name a variety of the kind the lot is of; if the kind is wrong, take it in anew.

variety-new-of-what-kind = No variety is called { $variety } yet.
    .mend = Say what kind of plant it is.
variety-of-several-kinds = { $variety } can be more than one kind.
    .mend = Say which: { $kinds }.

came-before-harvest = { comes-before }
    .mend = Seed can't have come here before it was harvested; mend one of the two days.
printed-to-come = { $field } is still to come.
    .mend = Give { DAY($today) } or earlier, as it stands on the packet.
printed-before-harvest = { $field } comes before the harvest of lot { $lot }.
    .mend = Mend it, or the lot's harvest, or mark the harvest as estimated.
printed-after-it-came = { $field } is later than { DAY($came) }, when the packet came.
    .mend = A packet tells what was known before it came: mend one of the two days.
packed-for-season-before = { $field } is a season before { $year }.
    .mend = Seed is packed after its harvest, for that year or a later one; mend one of the two.
packed-for-season-far-off = { $field } can't be { $value }.
    .mend = Give a season up to { $year }.
sow-by-too-early = { comes-before }
    .mend = Seed can't be promised to a day before it was harvested or packed; mend one of the two.
weight-too-many-seeds = { cannot-be }
    .mend = Check the weights: that would be { COUNT($seeds) } seeds.

# Values that don't go together (forms).

seeds-or-grams = Give either seeds or grams, and only one of them.
error-of-counted-seeds = An error goes with counted seeds; weighing has its own.
harvest-years-differ = The year and the day of harvest name different years; drop one.
weight-error-without-weight = The error of a thousand-seed weight needs that weight.
no-place-named = Choose the place it goes to, or describe a new one.
doubt-not-answered = Answer for the amount, or for the day it came here, or both.

place-twice = Choose a place from the list or describe a new one, not both.

# What a lot is, what became of its seed, and labels (seedbank.lots, seedbank.labels, seedbank.overview).

amount = { $seeds ->
        [unknown] some, not counted
        [0] none left
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    }
amount-in-pieces = { $seeds ->
        [unknown] some, not counted
        [0] none left
        [one] 1 piece
       *[other] { COUNT($seeds) } pieces
    }
amount-of-seeds = { $seeds ->
        [unknown] some seeds, not counted
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    }
lot-with-amount = { $lot }, { amount-of-seeds }
amount-in-column = { $seeds ->
        [unknown] some
       *[other] { COUNT($seeds) }
    }
stock-under-reserve = All lots of { $variety } together { $when ->
        [then] would then hold
       *[now] now hold
    } { $seeds ->
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    }, under the reserve of { COUNT($reserve_seeds) }.
code-slip = the { $place ->
        [1] first
        [2] second
        [3] third
        [4] fourth
        [5] fifth
        [6] sixth
        [7] seventh
        [8] eighth
       *[9] ninth
    } character { $slip ->
        [swapped] and the next have changed places
        [wrong] is wrong
        [too-many] is one too many
       *[left-out] is left out
    }
taken-back = { $what ->
        [test] Test { $number } is taken back with all its counts.
       *[sowing] Sowing { $number } is taken back with what was counted of it.
    }{ $counted_since ->
        [yes] { " " }Its seed doesn't come back: the packet was counted since.
       *[no] { "" }
    }
not-undone = { $obstacle ->
        [undoing] It undoes another change itself.
        [undone] It is undone already.
        [counted-since] The packet was counted since; take stock again if that is wrong.
       *[used-since] Its seed has been used since.
    }

origin = { $choice ->
        [bought] bought
        [swapped] swapped
        [gift] a gift
        [self-saved] saved here
       *[collected] gathered
    }
isolation = { $choice ->
        [unknown] not known
        [none] nothing
        [distance] distance
        [time] flowering at another time
        [cage] a cage
        [bag] bags over the flowers
        [hand-pollination] pollinating by hand
       *[only-variety] no other variety in flower
    }
isolation-to-come = { $choice ->
       *[unknown] not decided yet
    }
purity = { $choice ->
        [unknown] not known whether it crossed
        [isolated] kept from crossing
       *[risk] may have crossed
    }
seed-form = { $choice ->
       *[raw] bare seed
        [pelleted] pelleted
        [primed] primed
    }
moved = { $choice ->
        [acquired] came in
        [harvested] harvested
        [tested] taken for a test
        [sown] sown
        [given] given away
        [discarded] thrown out
       *[stock-take] counted
    }
received = { $choice ->
        [acquired] It came from elsewhere
       *[harvested] It was harvested here
    }
other-keepers = { $choice ->
        [none] nobody else
        [few] few others
       *[many] many others
    }
breeding = { $choice ->
        [open-pollinated] open-pollinated: comes true from its own seed
        [landrace] a landrace: comes true as the mixture it is
        [f1] an F1 hybrid: its seed does not come true
       *[unknown] nobody knows how it was bred
    }
purpose = { $choice ->
        [home] seed for my own use
        [keep] keeping the variety going
       *[rare] keeping a rare variety
    }

entry-amount-is = { $choice ->
        [some] It holds some, not counted
       *[none] It is really empty
    }
entry-day-is = { $choice ->
        [right] It came on that day
       *[unknown] Nobody knows when it came
    }
entered-answered = Answered for { COUNT($lots) } { $lots ->
        [one] lot
       *[other] lots
    }; { COUNT($left) } { $left ->
        [one] is
       *[other] are
    } left to check.
entered-none-left = No lot is left to check.
entered-how = An import may have made these up. Say how it is, for some lots or all: --amount some or none, --day right or unknown.
nothing-booked = { $amount ->
        [yes] yes
       *[no] { "" }
    }

label-document = Labels
label-treated = TREATED SEED: not for food or feed
label-poisonous = POISONOUS: keep from children and animals
label-fleeting = SOW FRESH: doesn't keep
label-harvest = { $year ->
        [unknown] Harvest unknown
       *[other] Harvest { $estimated ->
            [yes] about{ " " }
           *[no] { "" }
        }{ YEAR($year) }
    }
label-not-tested = Not tested
label-tested = { DAY($on) }: { COUNT($pct) } % of { COUNT($seeds) } { $seeds ->
        [one] seed
       *[other] seeds
    } came up ({ COUNT($low_pct) }–{ COUNT($high_pct) } %)
label-sheet = { $paper }, { COUNT($across) } across, { COUNT($down) } down ({ $size })
label-single = Single labels, { $size }

undoes-movement = undoes movement { $serial }

planting-stock-not-tested = Lot { $value } is planting stock, not seed: nothing of it germinates.
    .mend = Look it over instead. If it is seed after all, change what the lot is.
planting-stock-not-sown = Lot { $value } is planting stock, not seed: it is planted, a piece for each plant.
    .mend = Book the pieces planted as sown. If it is seed after all, change what the lot is.

# Mixtures (lots.mix_lots).

mixed-into = mixed into lot { $lot }
mixture-part-twice = Lot { $value } is named twice, or is the mixture itself.
    .mend = Name each lot once, with all that goes in of it.
planting-stock-not-mixed = Lot { $value } is planting stock, not seed: it can't go into a mixture of seed.
    .mend = Leave it out. If it is seed after all, change what the lot is.
mixture-amount-or-share = Give how much of each part goes in, or its share, not both.
mixture-variety-or-name = Give the number of a variety, or a name, not both.
mixture-shares-of-what = Give the share of every part, and how many seeds it is to be in all; or the amount of every part alone.
mixture-shares-add-up = The shares come to { DECIMALS($pct) } %; they must come to 100 %.
mixture-share-of-no-seed = { DECIMALS($pct) } % of { COUNT($seeds) } seeds is not one seed.
    .mend = Make more of it, or leave that part out.
mixture-part-misread = { cannot-be }
    .mend = Write it like 4K7PM:40, or 4K7PM:40% with --seeds.
mixture-made = Mixed: lot { $lot }, { COUNT($seeds) } seeds.
mixture-made-of = { CHANCE($share) } of lot { $lot }
mixture-part-of-nothing = Give the code of a lot, or say what the part is.
mixture-over-whole = Give shares that come to 1 or less; leave out those that aren't known.
mixture-not-true = Lot { $value } is a mixture: no seed saved from it would come true.
    .mend = Save seed of the lots it was made of.
mixture-sown-by-parts = Lot { $value } is a mixture: no one thickness is right for all of it.
    .mend = Ask of the lots it was made of, and sow of each its share.
lot-is-no-mixture = Lot { $value } is no mixture.
    .mend = Ask how thickly to sow it as a lot.
mixture-sown-together = Each part comes up as its own lot is thought to, and all share the bed and its luck. Spacing and soil are those of the kind it is filed under.
mixture-part-unknown = Of { CHANCE($share) } of the seeds nobody can say what comes up: they are taken to give no plant.
mixture-not-enough = { $asked ->
        [yes] All there is gives the plants wanted with a chance of { CHANCE($chance) } only.
       *[no] A good crop is not likely from it, even if you sow the gaps again: { CHANCE($chance) }.
    }
mixture-sow = Sow { COUNT($seeds) } seeds of lot { $lot }: { COUNT($low) } to { COUNT($high) } plants.
mixture-chance = { $asked ->
        [yes] The chance of { COUNT($plants) } is { CHANCE($chance) }.
       *[no] The chance of a good crop is { CHANCE($first) }, and { CHANCE($end) } if you sow the gaps again.
    }
mixture-sow-part = { $seeds ->
        [unknown] { $of }: nobody can say
       *[other] { COUNT($seeds) } of { $of }
    }
mixture-no-passport = Lot { $value } is a mixture, and a passport tells of one lot.
    .mend = Send passports of the lots it was made of, or none.

# A packet's page (lots.pages).

enough-for-rows = { $under_one ->
        [yes] Enough for { METRES($row_m) } of row.
       *[no] Enough for { $rows ->
                [one] 1 row
               *[other] { RATE($rows) } rows
            } of { METRES($row_m) }.
    }
emergence-by-day = { COUNT($units) } by day { COUNT($days) }
emergence-told = Sown on { DAY($on) }: { COUNT($sown) } seeds. Up: { $counts }.

# What commands tell of lots.
lot-taken-in = Lot { $lot } is taken in: { $variety }, { $amount }{ $place ->
        [none] { "" }
       *[other] , in { $place }
    }.
stock-taken = Lot { $lot } holds { $seeds ->
        [unknown] some seed, not counted
        [one] 1 seed
       *[other] { COUNT($seeds) } seeds
    }: a change of { COUNT($change) }.
lot-heading = Lot { $lot }, { $variety }
lot-to-narrow = What would tell more:
no-place-called = No place is called { $value }.
    .mend = List them with seedbank place list, or name it as a new place.
no-codes-typed = No lot is named.
    .mend = Name lots by their codes, or give - and the codes on standard input.
lot-amount-misread = { cannot-be }
    .mend = Write the code and what the packet holds, like 4K7PM:180, or 4K7PM:2.1g.
place-told = Place { $number }, { $place }, is { $choice ->
        [added] added
       *[changed] changed
    }.
lot-changed = Lot { $lot }, { $variety }, is changed.

# Tests, sowings and seed crops named by number or by their lot (lots.named_by_lot).

number-not-named = No { $noun ->
        [test] test
        [sowing] sowing
       *[crop] seed crop
    } is named { $value }.
    .mend = Give { $noun ->
        [test] the code of the lot tested, or the number of the test
        [sowing] the code of the lot sown, or the number of the sowing
       *[crop] the code of the lot sown, or the number of the seed crop
    }.
several-of-lot = Lot { $value } has { $found ->
        [0] { $noun ->
            [test] no test
            [sowing] no sowing
           *[crop] no seed crop
        }
       *[other] { $noun ->
            [test] several tests
            [sowing] several sowings
           *[crop] several seed crops
        }: { $numbers }
    }.
    .mend = { $found ->
        [0] { $noun ->
            [test] Start one first, with seedbank test start { $value }.
            [sowing] Record one first, with seedbank sowing record { $value }:SEEDS.
           *[crop] Begin one first, with seedbank crop begin { $value }.
        }
       *[other] Name one by its number, as seedbank { $noun } list { $noun ->
            [crop] does
           *[other] --lot { $value } does
        }.
    }
