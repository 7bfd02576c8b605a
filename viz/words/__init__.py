"""Words that every output shares: texts for each reader, terms of the trade, lines."""
