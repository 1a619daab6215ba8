"""Jobs, their ledgers, the commands that write them, and what a ledger says."""
