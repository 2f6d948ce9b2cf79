"""Old catch books: from the cells of a file to fish and monthly totals, with every fault by its row. Pure."""
