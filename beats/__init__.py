"""The water: fishery, keepers, beats, pools, gauges, and the law that opens and closes them."""
