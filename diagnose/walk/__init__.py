"""One inspection: the questions asked, the answers given, the finding reached."""
