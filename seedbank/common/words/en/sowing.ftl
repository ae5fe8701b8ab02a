# What the room sowing says.

all-seed-variety-reserve = All seed of this variety is its reserve of { $reserve_seeds }.
    .mend = Ask to sow the reserve too, if you mean to renew the seed.

units-emerged-count-units-more = { cannot-be }
    .mend = Count 0 units or more.
units-lost-give-unit-more = { cannot-be }
    .mend = Give 1 unit or more.
after-emergence-give-another-cause-these-did = { cannot-be }
    .mend = Give another cause: these did emerge.
on-date-give-later = { cannot-be }
    .mend = Give { DAY($sown_on) } or later.

sowing-finished = This sowing was finished on { DAY($finished_on) }.
    .mend = There is nothing left to do.
nothing-counted-sowing = Nothing was counted of this sowing.
    .mend = Record how many came up, 0 if none did, and finish it then.

lot-holds-no-seed = Lot { $lot_code } holds no seed.
    .mend = Ask for another lot, or take stock if the packet isn't empty.
all-seeds-lot-reserve-rare = All { $kept_back } seeds of lot { $lot_code } are the reserve of a rare variety.
    .mend = Ask to sow the reserve too, if you mean to renew the seed.

no-plants-wanted-variety = No plants are wanted of this variety.
    .mend = Say how many plants are wanted, here or on the variety.

up-too-soon = { COUNT($units) } up { $days ->
        [0] on the day of
        [one] 1 day after
       *[other] { COUNT($days) } days after
    } sowing. { $fastest_days ->
        [unknown] Nothing comes up that soon.
        [one] The fastest published for { $kind } is 1 day ({ $source }).
       *[other] The fastest published for { $kind } is { COUNT($fastest_days) } days ({ $source }).
    }
    .mend = Mend the day, the number, or the day of sowing.

sowing-day-gone-by = The day of sowing has gone by.
    .mend = Give today ({ DAY($today) }) or a later day.
limit-of-other-method = { $field } means nothing for the method { $method }.
    .mend = Leave it out, or ask with method={ $methods }.
no-plant-fits = Not one plant fits there.
    .mend = Give { METRES($least_m) } or more.

undoing-not-ticked = Not undone.
    .mend = Go back, and tick that the sowing is to be undone.

no-lot-holds-seed = No lot of this variety holds seed.
    .mend = Get seed, or take stock of what is left.
all-lots-nearly-dead = No lot of this variety is likely to be even 30 % alive.
    .mend = Ask for advice on one lot to sow it all the same, or test it first.

finished-before-last-count = { comes-before }
    .mend = Finish it on the day of its last count ({ DAY($first) }) or later.
