# What the room labels says.

too-many-lots-to-label = { $number } lots are more than are labelled at a time.
    .mend = Choose at most { $most } lots, and print the rest afterwards.

label-question-misread = { cannot-be }
    .mend = Find the lots anew: what was asked for can't be read.
no-such-paper = { cannot-be }
    .mend = Choose one of the papers listed.
no-lots-ticked = { cannot-be }
    .mend = Tick the lots to label, or all that were found.

label-beyond-page = This paper has { $on_page ->
        [one] 1 label
       *[other] { COUNT($on_page) } labels
    } a page.
    .mend = Count from 1, at the top left, along the rows, to { COUNT($on_page) }.
too-many-labels = { cannot-be }
    .mend = Print at most { $most } labels at a time.
labels-written = { $lots ->
        [one] The label of 1 lot is
       *[other] The labels of { $lots } lots are
    } in { $file }.
