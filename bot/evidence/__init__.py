"""PURE: what finds, clean and positive, say about their zone.

    figures      the numbers that the formulas take: checked, as arrays
    chances      binomial and hypergeometric probabilities
    sensitivity  what looking at n animals would have found; the prevalence that is left
    freedom      probability of freedom over time, with introduction
    samplesize   how many animals must be looked at
    scenario     risk groups, several components, the chain of a hunter's report
    lesions      where lesions lie, and how good looking is
    ageing       tooth state -> interval of age in months
    window       when and where a positive animal was infected
    grid         cells of a programme's area
    spatial      clean animals -> coverage of cells -> sensitivity of zones
    zones        a zone's probability of freedom, with its assumptions halved and doubled
    letter       the words of a zone's page, and of the season letter to hunters
    sentences    what a person is told of it
    finds        kept finds -> looks, positives, and suspects that wait
    unseen       where another clean animal would say most, for coordinators
    told_age     what was said of an animal's age -> the age that stands
    programme_account  all of it for one programme

Each imports only those above it. Nothing undefined becomes 0 or 1: it is NaN in an array, None
in a value, and "not available" in words.
"""
