"""The pages of the job file, each made from facts and answers alone."""
