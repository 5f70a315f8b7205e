"""Which patches of which piece the jets of turning arms strike directly."""
