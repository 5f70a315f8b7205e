"""Plans whose lumens stay fed in every single fault of chosen kinds: the judge, the cost, what would buy it."""
