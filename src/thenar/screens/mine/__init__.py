"""For a worker: my record, my plan, my letters to agree, who looked."""
