"""How likely sensors show what is wrong: one covariance of their readings, one alarm, for all who ask."""
