"""From record and tables to verdicts, remedies, protection, packing and rules."""
