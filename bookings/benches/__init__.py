"""What letting costs: the rush against a bare insert, the searches against SQL by hand."""
