from .cluster import cluster_pool as cluster_pool
from .listing import Shard as Shard
from .pool import Pool as Pool, process_pool as process_pool
from .run import BatchResult as BatchResult, Progress as Progress, run_batch as run_batch
from .task import Wanted as Wanted
