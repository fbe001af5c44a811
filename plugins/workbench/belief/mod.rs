pub mod measure;
