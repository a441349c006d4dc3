"""Local accounts: who may enter the page, by passphrase, with growing waits and visits that end by themselves."""
