"""The page. The only place in the project that imports Streamlit; it computes nothing."""
